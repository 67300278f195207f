"""Steady engine: a line of elements as flat arrays, solved as one monotone equation. No objects in here.

Nothing is imported here, so that `steadyhead.laws.compiling.choose` can come before the first kernel.
"""
