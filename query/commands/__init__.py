"""The commands of `knockon`, by subject."""
