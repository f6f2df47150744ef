"""The Flask application: one blueprint per resource."""
