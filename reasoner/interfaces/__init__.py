"""One file for each interface kind: its rule, as a pure function. Knows no RDF."""
