"""Lengths, and how each one is known."""
