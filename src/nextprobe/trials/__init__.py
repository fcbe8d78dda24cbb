"""Simulated devices through the whole loop: scores a pack and a strategy."""
