"""Coolant, friction, local losses, curves, network and heat."""
