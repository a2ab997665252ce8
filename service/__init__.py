"""Traybridge: will this consignment fit our storage system?"""

__version__ = "0.2.0"
