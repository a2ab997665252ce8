"""The arithmetic of the house: plain functions over frozen dataclasses. No HTTP, no SQL, no clock."""
