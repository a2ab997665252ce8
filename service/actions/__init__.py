"""Use cases: ``(session, actor, command) -> result``. The core decides, the store remembers, neither knows the other.

Plain reading needs no use case; the resources call the store's named statements.
"""
