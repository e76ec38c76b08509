"""Cautions, each told where it belongs; what a product's label or a local rule says goes first."""

BLADE = "Cut on a mat, blade away from your hands; keep to what its maker says."
GLUE = "Hot glue burns skin and loosens in the sun: keep to its label."
VARNISH = "Varnish gives off fumes: air the room, keep flames away, and keep to its label and local rules."
GLASS = "Glass must not touch paint or piece: keep it off with spacers, and mind its edges."
