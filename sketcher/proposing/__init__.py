"""Channels and whole plates laid out by search, judged by the very rules that check runs."""
