"""Every refusal and note in words, by code: one place, so that they can be read together and translated.

A sentence names the cause and the next step, in the painter's words: mm, clock positions, "ring 3".
Values are filled in by name with :meth:`str.format_map`.
"""

from collections.abc import Mapping

REFUSALS: dict[str, str] = {
    # what was asked for
    "bad_size": "The size {text} cannot be read. Write width x height with the unit, such as 12x12in or 30x40cm.",
    "odd_size": "A panel of {text} would be {width_mm} x {height_mm} mm. Write the unit, such as 12x12in.",
    "bad_length": "{name}: {text} is not a length. Write a number with its unit, such as 6mm or 1/4in.",
    "layout_unreadable": "The layout file {file} cannot be read: {reason}. Check the name after --layout.",
    "layout_syntax": "Layout file {file}, line {line} ({key}): not understood. Write lines such as segments = 12.",
    "layout_key": 'Layout file {file}, line {line}: "{key}" is not known. {hint}',
    "layout_value": "Layout file {file}, line {line}: {key} must be {wanted}.",
    "layout_both": "Layout file {file}, line {line}: give ring_radii_mm or ring_pitch_mm, not both.",
    "bad_corner": '--corners: "{text}" is not a point. Write x,y in pixels of the upright photo, such as 812,1043.',
    "corners_outside": "--corners: {text} lies outside the picture of {width} x {height} pixels. Give a point in it.",
    "several_corners": "--corners are those of one photo. Check the photos one by one with it.",
    "bad_segments": "--segments: {text} is not a number of spokes. Give a whole number from 2 to 120.",
    "bad_stage": "--stage: {text} is not known. Name one of {known}, or leave it out.",
    "bad_tolerance": "--tolerance: {text} is not a length above zero. Write it in mm, such as 1.0.",
    "bad_jobs": "--jobs: {text} is not a number of photos at a time. Give a whole number; 0 is one for each processor.",
    "no_photos": "There is no photo among these files. Name a photo that was not made by aligncheck.",
    "bad_height": "--height: {text} is no height of a centrepiece. Give that of its outer edge, such as 6mm or 0-12mm.",
    # counting dots
    "dots_what": "Give --radius and --size for a ring of dots, or --from, --to and --length for walked dots.",
    "dots_bad_size": "{name}: {text} is not a length above zero. Write it in mm, such as 4mm.",
    "dots_bad_gap": "--gap: {text} is not a gap. Write it in mm, such as 0.5mm; 0 lets the dots touch.",
    "dots_bad_count": "--count: {text} is not a number of walked dots. Give a whole number from 2 to 200.",
    "dots_too_large": "Dots of {size_mm:g} mm are too large: a ring of {radius_mm:g} mm does not hold {least} of them.",
    "dots_too_many": "That would be {number} dots; the limit is {limit}. Check the units.",
    "walk_too_short": "{count} such dots need {least_mm:g} mm at least, not {length_mm:g} mm. Make the line longer.",
    # frames
    "rebate_wide": "A rebate of {rebate_mm:g} mm would cover the whole panel ({shorter_mm:g} mm). Check --rebate.",
    # sheets to print
    "bad_kind": "{text} is not a sheet. Name one of layout, start, corrections.",
    "bad_rotation": "--rotation: {text} is not a number of degrees. Write degrees clockwise from 12, such as 15.",
    "bad_rings": "--rings: {text} is not a number of rings. Give a whole number from 1 to 100, and --pitch with it.",
    "bad_pencil": "--pencil: {text} is no width of a pencil's line. Write it in mm, such as 0.7mm; 0 for none.",
    "bad_start": "A start circle of {text} radius cannot be made. Give --radius from 5 mm to 1.5 m.",
    "start_unknown": "Where does the first row start? Give --radius, or with --check the result of reach.",
    "rings_too_large": "A ring of {radius_mm:g} mm does not fit: {half_mm:g} mm is the most here. Give fewer --rings.",
    "sheet_empty": "There is nothing to draw yet. Give --segments, --pitch or --layout.",
    "sheet_no_panel": "How large is the panel? Give --panel, such as 12x12in.",
    "sheet_no_result": "Which check? Give its result file with --check, such as aligncheck/photo.json.",
    "nothing_to_mend": "That check calls nothing out: there is nothing to mend, and no sheet to make.",
    "result_unreadable": "The result file {file} cannot be read: {reason}. Check the name after --check.",
    "result_not_one": "{file} is not the result of a check. Name the .json file that aligncheck check wrote.",
    "result_without": "That result does not hold what the sheet needs. Check the photo again with this version.",
    # what lies on the panel
    "nothing_on_panel": "Nothing lies on the panel. Lay the centrepiece on it, then photograph it.",
    "clear_piece": "Clear glass, about {thick} mm thick, shifts the lines within {radius} mm; its edge cannot be told. "
    "Lay its outline, cut from paper, in its place.",
    "over_side": "Something reaches over the panel's {side} side. Take it, or the hand, away and photograph again.",
    "over_corner": "Something lies over the panel's {corner} corner. Lay the piece about the centre, or take it away.",
    "other_panel": "{file} shows another panel, or one marked anew. Name the earlier photo of this panel.",
    "other_piece": "The piece in {file} has another outline. Name the photo of this very piece.",
    "no_earlier": "Which photo shows the piece in its place? Name it with --like.",
    "rearranged": "{file} shows the piece elsewhere than {other}. Give photos of one and the same arrangement.",
    "nothing_in_earlier": "Nothing lies on the panel in {file}. Name the photo that shows the piece in its place.",
    # finding the marks
    "nothing_drawn": "Nothing that can be measured is seen on the panel. Mark it, or photograph it closer and sharper.",
    "count_contradicts": "{segments} spokes were asked for, but {seen} are drawn. Correct --segments or the layout.",
    # writing the results
    "not_ours": "{file} is already in {folder} and was not made by aligncheck. Name another place with --out.",
    "not_our_table": "{file} is already in {folder} and is no table of aligncheck's. Name another file with --csv.",
    "disk_full": "The disk is full: {file} was not written to {folder}. Free some space and run it again.",
    "out_not_writable": "{file} cannot be written to {folder}: no permission. Name another folder with --out.",
    "out_not_a_folder": "{folder} is not a folder that results can go into. Name another folder with --out.",
    "name_too_long": "The name {file} is too long for the folder {folder}. Rename the photo.",
    "not_written": "{file} could not be written to {folder} ({reason}). Name another folder with --out.",
    "worker_died": "{file}: the check was stopped, most likely for want of memory. Run it again with --jobs 1.",
    "unexpected": "{file}: something went wrong inside aligncheck ({reason}). Please report it with the photo.",
    # several photos together
    "together_corners": "--corners belongs to one photo. Leave it out, or check that photo without --together.",
    "together_one": "Together takes two photos or more of one panel. Name another photo.",
    "together_differ": "{files} show the same marks, measured differently: a side is doubtful. Take another photo.",
    "together_disagree": "No two of these photos show the same marks: {files}. Give photos of one panel only.",
    # lens boards and profiles
    "board_not_found": "No board found. Lay the printed sheet flat; photograph all of it, sharp and without glare.",
    "board_too_small": "The board's squares are only {square_px} pixels wide. Go closer, so that it fills the picture.",
    "board_badly_seen": "The board fits {rms_px} px badly, the others {usual_px} px: bent, blurred or moved. Left out.",
    "board_other_camera": "Taken by another phone, zoom or picture size ({photo}) than most ({most}). Left out.",
    "boards_too_few": "Only {number} photos show a board well; at least {least} are needed. {why}",
    "lens_undetermined": "These photos are too much alike to tell the lens. Take some of the board tilted each way.",
    "bad_squares": "--squares: {text} cannot be read. Count the squares across and down, such as 10x7.",
    "paints_unreadable": "The list of paints {file} cannot be read: {reason}. Check the name after --paints.",
    "paints_syntax": 'List of paints {file}, line {line}: {what}. Write lines such as "sea blue" = "#3f89aa".',
    "paints_value": 'List of paints {file}: {name} must be "#rrggbb", or [L, a, b] with L from 0 to 100.',
    "paints_none": 'List of paints {file} names no paint. Write lines such as "sea blue" = "#3f89aa".',
    "bad_paper": "--paper: {text} is not known. Name one of {known}.",
    "bad_ruler": "--ruler: a 100 mm ruler that measures {text} is a slip. Measure its two end marks again.",
    "profile_unreadable": "The lens profile {file} cannot be read: {reason}. Check the name after --lens.",
    "profile_not_one": "{file} is not a lens profile. Make one with: aligncheck lens fit PHOTO... --out FILE",
    "profile_nonsense": "Lens profile {file}: {key} = {value} is no lens's. Fit it again from the board photos.",
    "profile_other_camera": "Lens profile {file} is of a {profile}, this photo of a {photo}. Leave out --lens.",
    "profile_other_zoom": "Lens profile {file} is for {profile_mm} mm, this photo was zoomed to {photo_mm} mm. "
    "Leave out --lens.",
    "profile_other_shape": "Lens profile {file} is for {profile} px; this photo, {photo} px, is cropped otherwise. "
    "Leave out --lens.",
    # the record
    "no_record": "{folder} is not a record. Begin one with: aligncheck record new {folder} --panel 12x12in",
    "record_exists": "{folder} is a record already. Add photos with: aligncheck record add {folder} PHOTO",
    "folder_not_empty": "{folder} holds other files. Name a new folder for the record.",
    "record_newer": "{folder} was made by a newer aligncheck (format {version}; this one reads {known}). Update it.",
    "stage_newer": "Stage {stage} was made by a newer aligncheck (format {version}, this reads {known}). Update it.",
    "record_unreadable": "The record {folder} cannot be read: {reason}. Check that its disk is there.",
    "piece_damaged": "piece.toml in {folder} cannot be read: {reason}. Mend that line with a text editor.",
    "stage_damaged": "Stage {stage}: stage.json cannot be read. Run: aligncheck record verify FOLDER --repair",
    "stage_gone": "The folder of stage {stage} is not there. Bring it back from a copy, or remove the stage.",
    "no_such_stage": 'There is no stage "{text}" in {folder}. Give a number from 1 to {number}, or its name.',
    "record_in_file": "{folder} is a file, or lies in one. Name a new folder for the record.",
    "nothing_noted": "Nothing was given to be noted. Give --about, --colour, --tool, --row or --caution.",
    "no_stages": "The record {folder} has no stages yet. Add one with: aligncheck record add {folder} PHOTO",
    "photo_changing": "{file} changed while it was read. Wait until it is copied, then add it again.",
    "bad_date": '"{text}" is not a date. Write it as 2026-05-12, or 2026-05-12T09:30.',
    "bad_edge": "{text} is not a number of pixels for the film. Give a whole number from 64 to 2160.",
    # the bench page
    "bench_needs_extra": "The bench page needs more packages. Install them first: pip install 'aligncheck[bench]'.",
    "port_taken": "Port {port} is in use or not allowed. Stop the other program, or name another with --port.",
    "bad_port": "--port: {text} is not a port. Give a whole number from 1 to 65535.",
    "bench_no_folder": "--folder: nothing can be kept in {folder}. Name a folder that can be written to.",
    "watch_no_folder": "--watch: {folder} is not a folder. Name the folder that the camera writes to.",
    # reading the photo
    "file_missing": "{file}: there is no such file. Check the name and the folder.",
    "file_is_folder": "{file} is a folder. Name the photos in it, such as {file}/*.jpg.",
    "file_no_permission": "{file} may not be read. Ask its owner, or copy the photo to a folder of yours.",
    "file_unreadable": "{file} cannot be read ({reason}). Copy the photo to this computer and try again.",
    "file_empty": "{file} is empty. Copy the photo again; the transfer may have been cut short.",
    "file_too_large": "{file} is larger than {limit} MB. Save it as JPEG and try again.",
    "not_a_picture": "{file} is not a picture that can be read. Give a JPEG, HEIC, PNG, TIFF or WebP photo.",
    "picture_damaged": "{file} is damaged or cut short. Copy the photo again from the phone.",
    "too_many_pixels": "{file} has {megapixels} megapixels; the limit is {limit}. Save it smaller and try again.",
    "out_of_memory": "{file} needs more memory than this computer has free. Save it smaller, or close other programs.",
    # the photo as a picture
    "photo_too_small": "The photo has only {width_px} x {height_px} pixels. Send the original, not a preview.",
    "photo_too_dark": "The photo is too dark: only noise is left. Photograph again with more light.",
    "photo_blown_out": "The photo is blown out to white. Photograph again with less light or exposure.",
    "photo_blurred": "The photo is blurred. Tap the panel on the screen to focus, hold still, and photograph again.",
    # finding the panel
    "no_panel": "No panel found. Lay it on something lighter or darker, with all four corners in the picture.",
    "panel_cut_off": "The panel is cut off by the edge of the picture. Step back until all four corners show.",
    "two_panels": "There is more than one marked panel in the picture. Photograph one at a time.",
    "size_mismatch": "What looks like the panel is not {width_mm:g} x {height_mm:g} mm. Measure it; check --panel.",
    "outline_doubtful": "The panel's sides are not clear enough. Lay it on another colour, or give --corners.",
    "corners_cross": "--corners: these points are not the four corners of a panel. Give each corner once.",
}

NOTES: dict[str, str] = {
    "own_picture": "{file} was made by aligncheck itself and is skipped.",
    "panel_turned": "The panel stands turned: it was measured as {width_mm:g} x {height_mm:g} mm, width x height.",
    "advice_fill_frame": "The panel fills {filled} % of the picture. Go closer: ± {now_mm} mm becomes ± {then_mm} mm.",
    "advice_tilted": "Taken {tilt} degrees from above. Hold the phone over it: ± {now_mm} mm becomes ± {then_mm} mm.",
    "advice_moved": "The phone moved. Lean it on something: ± {now_mm} mm becomes ± {then_mm} mm.",
    "advice_focus": "The photo is out of focus. Tap on the panel first: ± {now_mm} mm becomes ± {then_mm} mm.",
    "advice_dark": "The photo is dark. Give it more light: ± {now_mm} mm becomes ± {then_mm} mm.",
    "advice_glare": "Glare {where}. Turn the panel or move the lamp: there ± {now_mm} mm becomes ± {then_mm} mm.",
    "advice_cropped": "This photo was cropped: less is known of its lens. Check the whole photo, as it was taken.",
    "advice_bowed": "The {side} side bows by {bow_mm} mm: not flat. Lay it on a board and weigh its corners down.",
    "panel_not_square": "The panel is not square, as its rings show: from {longer} it is {mm} mm longer than "
    "across, ± {u95} mm. Measure from the centre, not from the sides.",
    "panel_too_wide": "The panel is {mm} mm too {way} for its height, as its rings show, ± {u95} mm. "
    "Measure both, and give these as its size.",
    "together_other_panel": "{file} shows other marks than the others: another panel, or marked anew. Left out.",
    "together_wrong_map": "{file} was measured otherwise than the others: one of its sides is doubtful. Left out.",
    "together_not_measured": "{file} was not measured and is left out: {reason}",
    "together_same_photo": "{file} is the same photo as {other}: it counts once.",
    "together_which_side_up": "The pattern does not tell which side is up in {files}: taken as it lies in the picture.",
    "together_frame": "The figures stand in the frame of {file}, the first photo that takes part.",
    "together_odd_marks": "{file}: {number} marks lie otherwise than in the other photos; they count less.",
    "views_alike": "The photos are much alike: tilt the phone to all four sides, and turn it by a quarter once.",
    "border_unseen": "No board reached the picture's border: take one that does. There it is ± {bend_u95_px} pixels.",
    "sheet_curled": "The sheet was not flat but stood out by {percent} % of its length. Tape it to a board.",
    "terms_left_out": "This lens bends in an unusual way: up to {left_out_px} pixels of it are not in the profile.",
    "centrepiece_height": "The piece's height is not known, hence the large ±. Hold the phone right above it, "
    "or give --height.",
    "placement_by_outline": "Too little of the piece is alike in both photos: its outline alone was compared.",
    "placement_height": "The piece's height decides here. Give --height, or photograph from the earlier photo's place.",
    "clear_on_panel": "Clear glass, about {thick} mm thick, shifts the lines within {radius} mm. Check without it.",
    "centrepiece_dark": "The piece is as dark as its shadow; some of that may count as piece. More even light helps.",
    "centrepiece_doubtful": "The piece's outline is doubtful. See the picture; one of the bare panel helps (--before).",
    "dots_too_small": "This photo is too coarse for dots of less than {mm} mm: some may not be found. Go closer.",
    "dots_unjudged": "{what} could not be judged, {where}: light or other paint hides whether one is there.",
    "dots_unpainted": "Not painted yet: {what}, {where}. They do not count as missing.",
    "petals_absent": "Row {row}: {count} of {of} petals do not show, {where}. Not drawn yet, or light hides them.",
    "repeat_glare": "Glare hides {percent} % of the painting, from {start} to {stop}: nothing is said of it.",
    "repeat_few": "The design repeats only {count} times: too few to tell which of them is the odd one.",
    "repeat_other_count": "From {inner_mm:.0f} to {outer_mm:.0f} mm from the centre the design repeats {order} times: "
    "that part was not compared.",
    "repeat_little": "Too little is painted to compare the segments yet.",
    "repeat_unfinished": "{count} of {of} segments are not finished: they were not compared with the others.",
    "clock_behind": "This computer's clock is behind: the record was last added to on {last}. Set it right.",
    "centre_by_repeat": "No spoke or ring is seen: the point that the pattern turns about is taken as the centre.",
    "centre_by_dots": "Paint hides the centre mark: the point that the dots turn about is taken as the centre.",
    "chalk_under_paint": "Dots cover part of the chalk: spokes and rings are read from what shows of them.",
    "chalk_hidden": "Dots cover the chalk: no spokes and rings can be read beside them.",
    "centre_hidden": "The centre mark is hidden or missing: the point where the spokes meet is used instead.",
    "count_open": "{segments} spokes were counted; {other} fit nearly as well. If that is right: --segments {other}.",
}


def phrase(code: str, values: Mapping[str, object]) -> str:
    """Return the sentence for `code`, filled in with `values`; the code itself where no sentence is known."""
    template = REFUSALS.get(code) or NOTES.get(code) or code.replace("_", " ").capitalize() + "."
    return template.format_map(_Known(values))


class _Known(dict[str, object]):
    """Values by name; a value that nobody gave must not turn a refusal into a crash."""

    def __missing__(self, name: str) -> "_Unknown":
        return _Unknown()


class _Unknown:
    """Stands for a value that nobody gave, whatever format is asked of it."""

    def __format__(self, spec: str) -> str:
        return "?"
