"""Answers to every sentence that is not about a whole change: one file for a kind of question."""
