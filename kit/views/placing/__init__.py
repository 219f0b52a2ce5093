"""What a notebook shows beside the kit's own parts, placed in the page: figures, pictures, tables, Markdown, text.

`notebook` walks through an executed notebook and hands on to the page template parts only; `outputs` makes HTML of
one output; `cleaned` is what becomes of HTML that is not the kit's own. What cannot be placed is told on the page.
"""
