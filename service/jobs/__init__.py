"""Long work, done by workers beside the web: the queue's loop, what it runs, and the child that calculates."""
