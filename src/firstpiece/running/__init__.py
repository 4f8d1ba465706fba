"""Long work through one interface: in process, process pool or cluster."""
