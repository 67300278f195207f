"""The field page: what a device takes along to the chamber, and what it brings back."""
