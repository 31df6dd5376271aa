"""Synthetic catalogues and what knockon takes for them, from a thousand parts to a hundred thousand.

Installed as `knockon.benchmarks`; `knockon bench` runs it.
"""
