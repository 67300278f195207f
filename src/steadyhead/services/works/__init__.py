"""Work on the register as a whole, in a process of its own: verify, archives, spreadsheets."""
