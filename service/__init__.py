"""Traybridge: will this consignment fit our storage system?"""
