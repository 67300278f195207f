"""Compiled scalar laws used by every engine: valves, pilots, outlets, pipes, waves.

Nothing is imported here, so that `steadyhead.laws.compiling.choose` can come before the first kernel.
"""
