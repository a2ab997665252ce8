"""The invented scenario: three institutions, their storage systems, and a donation."""
