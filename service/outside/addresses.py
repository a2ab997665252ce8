"""Which addresses on the network a call may go to: the public ones, and those that the operator names.

Addresses are judged and never names: ``127.1``, ``0x7f.1`` and any name that somebody publishes can all lead home.
What counts as public is narrower here than in Python's ``is_global``, which lets through multicast, the ways by
which IPv6 carries IPv4, and blocks that were set aside after this Python was made.
"""

from collections.abc import Sequence
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network
from typing import TypeAlias

Address: TypeAlias = IPv4Address | IPv6Address
Network: TypeAlias = IPv4Network | IPv6Network

#: Where the world's own IPv6 addresses lie (RFC 4291 and IANA's registry). Outside are loopback, link-local, unique
#: local, multicast, IPv4-mapped and NAT64 addresses, and whatever is not handed out yet.
_GLOBAL_UNICAST = IPv6Network("2000::/3")
#: Within it, what leads somewhere else (IANA IPv6 special-purpose registry).
_SPECIAL_V6 = tuple(
    map(
        IPv6Network,
        (
            "2001::/23",  # protocol assignments; Teredo, which carries IPv4, among them
            "2001:db8::/32",  # documentation
            "2002::/16",  # 6to4, which carries IPv4
            "3fff::/20",  # documentation
        ),
    )
)
#: What Python 3.11 calls global and is not (IANA IPv4 special-purpose registry), and one address that is.
_SPECIAL_V4 = tuple(
    map(
        IPv4Network,
        (
            "192.0.0.0/24",  # protocol assignments
            "192.88.99.0/24",  # once the relays of 6to4
            "168.63.129.16/32",  # from memory: a host agent that answers inside one large cloud
        ),
    )
)


class NotANetwork(ValueError):
    """What the operator wrote is no network; the message says what would be."""


def read_networks(written: str) -> tuple[Network, ...]:
    """The networks in a setting, separated by commas, such as ``10.20.0.0/16, fd12:3456::/32``.

    :raises NotANetwork: naming the first that is none.
    """
    return tuple(_network(part.strip()) for part in written.split(",") if part.strip())


def _network(written: str) -> Network:
    try:
        return ip_network(written)
    except ValueError as error:
        raise NotANetwork(f"“{written}” is no network; write one such as 10.20.0.0/16.") from error


def unwrapped(address: str | Address) -> Address:
    """The address that is really meant: an IPv4 address in the clothes of IPv6 (``::ffff:10.0.0.1``) is IPv4."""
    parsed = ip_address(address) if isinstance(address, str) else address
    return (parsed.ipv4_mapped or parsed) if isinstance(parsed, IPv6Address) else parsed


def is_public(address: str | Address) -> bool:
    """Whether an address lies in the open network, where a call can do no harm that its sender could not do alone."""
    meant = unwrapped(address)
    if not meant.is_global or meant.is_multicast or meant.is_reserved:
        return False
    if isinstance(meant, IPv4Address):
        return not any(meant in block for block in _SPECIAL_V4)
    in_the_world = meant in _GLOBAL_UNICAST and meant.scope_id is None
    return in_the_world and not any(meant in block for block in _SPECIAL_V6)


def is_in(address: str | Address, networks: Sequence[Network]) -> bool:
    """Whether an address lies in one of some networks."""
    meant = unwrapped(address)
    return any(meant in network for network in networks if network.version == meant.version)
