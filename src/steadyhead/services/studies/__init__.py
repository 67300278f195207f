"""Studies of a station in the app: capacity, surge, needle window, protection proof, stability, chances."""
