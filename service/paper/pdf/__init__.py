"""Papers as PDF: from what stands on them to bytes that are the same every time."""
