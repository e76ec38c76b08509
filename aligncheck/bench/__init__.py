"""The page at the bench: a phone sends its photo to this computer and reads what to move.

`settings` say how it runs, `pool` and `worker` measure in processes of their own, `jobs` and `places` hold what is
known, `app` and the files named ``*_pages`` answer requests, `words` has every sentence of the page.
"""
