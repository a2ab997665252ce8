"""From what travels to inner boxes and outer cartons: what goes where, with padding all round, and what it weighs."""
