"""Plans a haul-out: what cures when, who is there, what the weather allows, and when she goes back in."""

__version__ = "0.1.0"
