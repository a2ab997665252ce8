"""What speaks HTTP: resources, pages and the kit that they are written with."""
