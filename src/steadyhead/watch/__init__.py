"""Logger data: read, judged, measured. Pure over bytes and frames; knows no register and no archive."""
