"""Lay many fields by one plan, each through the very flow that lays one."""
