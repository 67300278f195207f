"""One module for each room of the app; each holds a `router`."""
