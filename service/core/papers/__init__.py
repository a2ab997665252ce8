"""What stands on the papers of a transfer, the code that each carries, and what has changed since one was printed."""
