"""Keeping the inventory: what is there, and carrying trays from one place to another."""
