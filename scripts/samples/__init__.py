"""What scripts/make-samples is made of: the town, its works, and the files they are written to."""
