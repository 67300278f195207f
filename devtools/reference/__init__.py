"""Parts of the manual that are written by the code itself, so that they cannot fall behind it."""
