"""Calls to servers of others: what they are signed with, where they may go, and how little of the answer is read."""
