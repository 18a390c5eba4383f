"""Hands as instruments: pairs, bias and spread, what to weigh next."""
