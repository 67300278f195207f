"""A door: pages in a browser and their JSON twins. Parse, call one service, show; no engineering."""
