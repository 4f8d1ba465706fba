"""Work done here, in worker processes or on a cluster, behind one interface."""
