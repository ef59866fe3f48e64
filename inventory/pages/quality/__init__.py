"""Pages of incoming checks, recalls, traces and returns to suppliers."""
