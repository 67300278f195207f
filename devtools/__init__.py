"""What a developer runs around the product: set-up, demo, checks, locks, tables for the manual.

Everything that `dev.py` needs before the set-up is done uses the standard library only.
"""
