"""Catalogue, comparison of ends, closure, verdicts and explanations. Knows no query, no HTTP."""
