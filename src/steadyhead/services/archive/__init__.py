"""Everything of a register in one file that can be read without the program, and back again."""
