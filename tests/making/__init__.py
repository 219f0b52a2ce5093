"""Makers: the virtual valve, the demo unit's maker, the study of recordings and the generated pages of the guide.

They stand with the tests because only the tests, and whoever renews the demo unit or the guide, need them: what an
installed kit reads is the demo unit's files as they are committed, never what made them.
"""
