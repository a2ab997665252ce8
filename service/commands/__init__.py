"""The commands of `traybridge`, one file a subject; cli.py puts them together."""
