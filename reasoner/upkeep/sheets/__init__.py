"""Spreadsheets in and out: templates made from the vocabulary, and files read into change sets."""
