"""A contractor's existing customers, sites, units and exchangers, brought in from one flat file."""
