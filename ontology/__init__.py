"""The vocabulary, its rules and its shapes, as Turtle files. No code."""
