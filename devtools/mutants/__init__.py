"""Mutants: small wrong changes of what judges, and which tests notice them."""
