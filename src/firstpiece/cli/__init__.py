"""The command line: each command reads its options, calls one shop function, shows the answer."""
