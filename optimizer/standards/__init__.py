"""Whether it is allowed: measurement, findings and the independent checker."""
