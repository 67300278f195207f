"""Certificates: making, signing, verifying, and the pack that goes with them."""
