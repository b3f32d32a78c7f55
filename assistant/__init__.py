"""Swatchword: hands-free, offline help for a hair colour service."""
