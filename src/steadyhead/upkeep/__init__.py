"""What is due at a station, why, and what waiting costs. Pure: knows no tables and no pages.

It permits nothing and guarantees nothing: intervals are common practice where nothing better is stated. Local
codes, the equipment supplier's instructions and the owner's rules come first.
"""
