"""What things cost, side by side in one run: `make bench`. Never a test, since a busy machine would fail it."""
