"""Incoming checks, recalls, traces and returns to suppliers over REST."""
