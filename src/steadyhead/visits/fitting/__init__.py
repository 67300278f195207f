"""The twin fitted to the readings of a run: what they determine, how well, and what they leave open."""
