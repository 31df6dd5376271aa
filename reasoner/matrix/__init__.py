"""The whole-catalogue fitment matrix: every part at every station of every car."""
