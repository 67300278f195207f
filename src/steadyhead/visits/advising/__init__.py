"""Which screw is turned at which step, to what reading, and what its table is (design handbook 3.2, 3.6a)."""
