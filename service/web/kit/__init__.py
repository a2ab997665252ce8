"""What every resource is written with.

``operation`` declares an endpoint once: the route, the key it needs, the checks and the paragraph in the contract all
come from that one declaration. ``problems`` is the table of everything that can be refused. ``fields`` and
``measures`` accept exactly what the contract says. ``install`` puts the kit into an app.
"""
