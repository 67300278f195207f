"""Transient engine: pipes by characteristics, a chain of valves between two pipe ends. No objects in here.

Nothing is imported here, so that `steadyhead.laws.compiling.choose` can come before the first kernel.
"""
