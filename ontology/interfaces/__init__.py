"""One Turtle file for each interface kind."""
