"""Care on the way and on arrival: quarantine, and what people have to mind who handle the material."""
