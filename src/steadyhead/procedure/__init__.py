"""The graph of steps, what they need, prove and make stale; knows nothing of valves."""
