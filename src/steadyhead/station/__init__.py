"""What a station is: its file, its layout, its levels, and the inside of its valves with defaults."""
