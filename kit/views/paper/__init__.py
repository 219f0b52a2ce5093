"""Pages as PDF: the page as it stands, set in a font of its own, with files attached. Needs the optional install."""
