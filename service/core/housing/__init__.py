"""How many trays a drawer holds."""
