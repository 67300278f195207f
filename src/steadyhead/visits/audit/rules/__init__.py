"""The rules of the audit, one room of the handbook each."""
