"""Sheets of an invented measuring session that adds the Wether W5; see README.md."""
