"""What bodies and answers look like, one file a subject. The resources beside this folder say what is done with them."""
