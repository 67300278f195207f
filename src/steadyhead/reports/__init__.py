"""The papers: design sheet, test plan and station card as PDF, for archive, for the chamber and for the wall."""
