"""The words of a plan: message ids with parameters in, sentences in the reader's units out."""

from steadyhead.visits.texts.saying import fields, is_known, refers, say

__all__ = ["fields", "is_known", "refers", "say"]
