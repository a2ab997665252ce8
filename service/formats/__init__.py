"""What other programs write and read: spreadsheets, and later archives."""
