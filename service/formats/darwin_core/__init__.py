"""Darwin Core archives, in and out, by the Darwin Core text guide (TDWG, issue of 2023-09-13)."""
