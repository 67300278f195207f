"""The papers: design sheet, test plan and station card as PDF, for archive, chamber and wall."""
