"""Who may do what: the rows of the table, one file a room; tests/test_who_may_do_what.py asks them."""
