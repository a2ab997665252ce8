"""What people look at in a browser: plain pages without scripts, which call no other host."""
