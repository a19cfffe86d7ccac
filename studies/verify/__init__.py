"""Checks against publications, exact solutions and a second method."""
