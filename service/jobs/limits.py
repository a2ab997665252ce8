"""How much time and memory one operation may have."""

from dataclasses import dataclass

_MIB = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Limits:
    """After ``seconds`` the work is asked for the best it has; ``grace_s`` later it is ended. ``memory_mib`` is all
    the memory that it may have for itself."""

    seconds: int = 600
    grace_s: int = 30
    memory_mib: int = 1_024

    @property
    def memory_bytes(self) -> int:
        return self.memory_mib * _MIB


#: A worker was lost this often over one operation, and it may well be the operation's doing.
MOST_ATTEMPTS = 3
