"""The Flask application: one blueprint per resource."""

from sketcher.server.app import create_app

__all__ = ["create_app"]
