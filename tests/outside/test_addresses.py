"""Where a call may go to. The blocks are those of IANA's special-purpose address registries."""

from ipaddress import ip_network

import pytest

from service.outside.addresses import NotANetwork, is_in, is_public, read_networks

PRIVATE = [
    "127.0.0.1", "127.255.255.254", "10.0.0.1", "172.16.0.1", "192.168.1.1", "0.0.0.0", "0.1.2.3",  # noqa: S104
    "255.255.255.255",
    "169.254.169.254", "100.64.0.1", "100.100.100.200", "192.0.0.8", "192.0.0.192", "192.0.2.1", "198.51.100.1",
    "203.0.113.1", "198.18.0.1", "192.88.99.1", "224.0.0.1", "239.1.2.3", "240.0.0.1", "168.63.129.16",
    "::", "::1", "::7f00:1", "::ffff:127.0.0.1", "::ffff:10.0.0.1", "::ffff:169.254.169.254", "64:ff9b::7f00:1",
    "64:ff9b::808:808", "64:ff9b:1::1", "100::1", "2001::1", "2001:db8::1", "2002:7f00:1::", "3fff::1", "5f00::1",
    "fc00::1", "fd00:ec2::254", "fe80::1", "fe80::1%eth0", "fec0::1", "ff02::1",
]  # fmt: skip
PUBLIC = ["8.8.8.8", "1.1.1.1", "193.0.6.139", "::ffff:8.8.8.8", "2606:4700::1111", "2001:67c:2e8:22::c100:68b"]


@pytest.mark.parametrize("address", PRIVATE)
def test_home_neighbours_and_detours_are_not_public(address):
    assert not is_public(address)


@pytest.mark.parametrize("address", PUBLIC)
def test_the_open_network_is_public(address):
    assert is_public(address)


def test_a_network_of_the_operators_own_is_known_in_either_dress():
    own = read_networks("10.20.0.0/16, fd12:3456::/32")
    assert own == (ip_network("10.20.0.0/16"), ip_network("fd12:3456::/32"))
    assert is_in("10.20.1.2", own)
    assert is_in("::ffff:10.20.1.2", own)
    assert is_in("fd12:3456::7", own)
    assert not is_in("10.21.0.1", own)
    assert not is_in("fd12:3457::7", own)


@pytest.mark.parametrize("written", ["10.20.0.1/16", "home", "10.20.0.0/33"])
def test_a_network_that_is_none_is_named(written):
    with pytest.raises(NotANetwork, match=written):
        read_networks(f"10.0.0.0/8,{written}")
