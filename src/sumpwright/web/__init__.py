"""The browser job sheet: a page on this machine on which the whole job can be done.

What page and server say to each other stands in ``messages`` and ``picture_messages``.
Left out here: every calculation, and every sentence about the pan.
"""
