"""Visits of the register: plans, runs, entries, proofs and the papers that come of them."""
