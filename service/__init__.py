"""Repair planning service for log and timber buildings."""
