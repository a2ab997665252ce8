"""What the service remembers, and the only place where SQL is written."""
