"""Options that several commands have, each with its one name and help."""

from typing import Annotated

import typer

Text = str | None

Panel = Annotated[
    str, typer.Option(metavar="SIZE", help="Width x height as the panel stands in the photo: 12x12in, 30x40cm.")
]
Out = Annotated[Text, typer.Option(metavar="DIR", help="Results go here; else into 'aligncheck' beside the photo.")]
Segments = Annotated[Text, typer.Option(metavar="N", help="Number of spokes; else found by itself.")]
LayoutFile = Annotated[Text, typer.Option(metavar="FILE", help="Layout file (TOML): what was meant.")]
Tolerance = Annotated[Text, typer.Option(metavar="MM", help="How far off is still good; 1.0 mm.")]
LensFile = Annotated[Text, typer.Option(metavar="FILE", help="Lens profile of the phone, made with lens fit.")]
Corners = Annotated[
    tuple[str, str, str, str] | None,
    typer.Option(metavar="X,Y X,Y X,Y X,Y", help="The panel's corners in pixels of the upright photo."),
]
Depth = Annotated[Text, typer.Option(metavar="MM", help="Thickness of the panel, if it is a deep one.")]
Height = Annotated[
    Text, typer.Option(metavar="MM", help="Height of the outer edge of what lies on it: 6mm, or 0-12mm.")
]
