"""What stands where, and how to change it with the fewest trays moved: order, reserve, moves, walking list."""
