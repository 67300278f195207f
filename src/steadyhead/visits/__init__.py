"""The procedures of one station and what is expected at each step."""
