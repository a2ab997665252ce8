"""What bodies and answers look like, one file a subject; the resources beside this folder act on them."""
