"""What stands where, as its institution keeps it: rooms, cabinets, drawers, trays, and who carried what."""
