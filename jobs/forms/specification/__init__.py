"""The specification as a form: document → what stands in the fields → document, without a loss in either direction.

`layout` says which fields there are, `tree` reads and names them, `document` turns them into the document and back,
`rows` adds and removes, `paper` puts faults and hints beside them for the template.
"""

from jobs.forms.specification.document import document_of, fits_the_form, tree_of
from jobs.forms.specification.paper import Paper, lay_out
from jobs.forms.specification.rows import rework
from jobs.forms.specification.tree import TooMuch, read_fields

__all__ = ["Paper", "TooMuch", "document_of", "fits_the_form", "lay_out", "read_fields", "rework", "tree_of"]
