"""What load strips a thread, by which method, and how is the load shared along it."""
