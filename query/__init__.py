"""The question language, its answers and the command line."""
