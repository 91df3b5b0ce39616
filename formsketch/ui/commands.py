"""Every command of the window in one table: its menu, words, keys and the method that does it.

Menus, tool tips and the list of keys are made from it.
"""

from __future__ import annotations

from formsketch.values import Value


class Command(Value, frozen=True):
    """One command: the window's method of this `name` does it. `text` has '&' before its letter key."""

    name: str
    menu: str
    text: str
    keys: tuple[str, ...] = ()
    hint: str = ""
    checkable: bool = False
    starts_group: bool = False


COMMANDS: tuple[Command, ...] = (
    Command(
        "new_design", "&File", "&New from a starter form...", ("Ctrl+N",), "Begin a form from a few numbers."
    ),
    Command("open_design", "&File", "&Open...", ("Ctrl+O",), "Open a design file."),
    Command("save_design", "&File", "&Save", ("Ctrl+S",), "Write the design to its file.", starts_group=True),
    Command("save_design_as", "&File", "Save &as...", ("Ctrl+Shift+S",), "Write the design to another file."),
    Command("close_window", "&File", "&Quit", ("Ctrl+Q",), "Close the window.", starts_group=True),
    Command("undo", "&Edit", "&Undo", ("Ctrl+Z",), "Take the last step back."),
    Command("redo", "&Edit", "&Redo", ("Ctrl+Shift+Z", "Ctrl+Y"), "Take the step again."),
    Command(
        "list_steps", "&Edit", "&Steps...", ("Ctrl+H",), "Go back to any step since the design was opened."
    ),
    Command(
        "select_all_spans",
        "&Edit",
        "Select &all spans",
        ("Ctrl+A",),
        "What is typed beside the form then goes for every span.",
        starts_group=True,
    ),
    Command("fit_form", "&View", "&Whole form", ("Home",), "Show the whole form."),
    Command("show_true_size", "&View", "&True size", ("Ctrl+1",), "Show the form as large as it will be."),
    Command("zoom_in", "&View", "Zoom &in", ("Ctrl++", "Ctrl+="), "Come nearer."),
    Command("zoom_out", "&View", "Zoom &out", ("Ctrl+-",), "Go further away."),
    Command(
        "zoom_to_selected",
        "&View",
        "Zoom to the &selected span",
        ("Ctrl+2",),
        "Come as near as all that is selected allows.",
    ),
    Command("lay_level", "&View", "&Lay level", ("Ctrl+L",), "Lay the form level on the table."),
    Command(
        "turn_view_left",
        "&View",
        "Turn view le&ft",
        ("Ctrl+Shift+Left",),
        "By 15 degrees, the design stays; Alt and the middle button turn it freely.",
        starts_group=True,
    ),
    Command(
        "turn_view_right",
        "&View",
        "Turn view ri&ght",
        ("Ctrl+Shift+Right",),
        "By 15 degrees, the design stays.",
    ),
    Command(
        "turn_view_back",
        "&View",
        "Turn view &back",
        ("Ctrl+Shift+Up",),
        "Show the form as it was laid.",
    ),
    Command(
        "match_screen", "&View", "&Match this screen...", (), "Measure the screen with a card or a rule once."
    ),
    Command(
        "measure_distance",
        "&View",
        "&Distance between two points",
        ("D",),
        "Measure on the form, edge to edge.",
        checkable=True,
        starts_group=True,
    ),
    Command(
        "rulers_in_inches",
        "&View",
        "&Rulers in inches",
        (),
        "Rulers, grid and scale in inches.",
        checkable=True,
    ),
    Command(
        "draw_freehand", "F&orm", "&Draw freehand", ("F",), "A stroke becomes few spans.", checkable=True
    ),
    Command("change_texts", "F&orm", "&Title and notes...", (), "Name the design and write notes."),
    Command("change_ends", "F&orm", "&Ends...", ("Ctrl+E",), "Choose what is done to each end of the wire."),
    Command(
        "insert_mark",
        "F&orm",
        "&Insert a mark",
        ("M",),
        "Into the selected span, where pointed at.",
        starts_group=True,
    ),
    Command("remove_mark", "F&orm", "&Remove a mark", ("Shift+M",), "Where the selected span begins."),
    Command(
        "turn_over", "F&orm", "Turn &over here", ("T",), "Turn the wire over where the selected span begins."
    ),
    Command(
        "open_row", "F&orm", "Open the ro&w...", ("R",), "Every span that turns as the selected one does."
    ),
    Command("even_row", "F&orm", "Even &up the row", (), "Like spans turn alike and are equally long."),
    Command(
        "swap_over_under",
        "F&orm",
        "Swap over &and under",
        ("X",),
        "At the crossing nearest to the pointer; a double click on a crossing does the same.",
    ),
    Command(
        "repeat_run",
        "F&orm",
        "Re&peats and grading...",
        (),
        "How often, and how large at the ends.",
        starts_group=True,
    ),
    Command(
        "split_run", "F&orm", "Split repeats &here", (), "In two where the selected span's repeat begins."
    ),
    Command("join_runs", "F&orm", "&Join with what follows", (), "Two runs become one run of free spans."),
    Command("gather_repeats", "F&orm", "&Gather repeats", (), "Equal spans become a repeated motif again."),
    Command(
        "reverse_wire", "F&orm", "Re&verse the wire", (), "Start and finish change places.", starts_group=True
    ),
    Command("mirror_form", "F&orm", "&Mirror", (), "Every turn changes side."),
    Command("scale_form", "F&orm", "&Scale...", (), "The same form larger or smaller, in the same wire."),
    Command("loosen_run", "F&orm", "&Loosen repeats", (), "Write the selected span's run out as free spans."),
    Command(
        "remove_flare", "Ha&mmer", "&Leave unhammered", ("Delete",), "Take the selected span's flare away."
    ),
    Command(
        "flare_on_edge", "Ha&mmer", "On &edge", (), "Hammer the selected span on its side.", checkable=True
    ),
    Command(
        "copy_flare", "Ha&mmer", "Li&ke spans alike", (), "Spans as long that turn as far get this flare."
    ),
    Command(
        "flare_like_spans", "Ha&mmer", "&All curved spans alike", (), "Every curved span gets this flare."
    ),
    Command(
        "uneven_blows",
        "Ha&mmer",
        "Uneven &blows...",
        (),
        "Heavier on one edge: the bend tightens or opens.",
        starts_group=True,
    ),
    Command(
        "put_picture_under",
        "Pict&ure",
        "&Put a picture under...",
        (),
        "A sketch or a photograph to trace: PNG, JPEG or SVG.",
    ),
    Command(
        "set_picture_scale",
        "Pict&ure",
        "&Set its scale by two points...",
        (),
        "Click two points and say how far apart they truly are.",
        starts_group=True,
    ),
    Command(
        "adjust_picture",
        "Pict&ure",
        "&Adjust",
        ("F6",),
        "Drag moves it, Shift and drag turn it, Ctrl and the wheel fade it.",
        checkable=True,
    ),
    Command("lock_picture", "Pict&ure", "&Lock", (), "Keep it from being moved.", checkable=True),
    Command(
        "fade_picture_more", "Pict&ure", "Fade &more", (), "Show the picture fainter.", starts_group=True
    ),
    Command("fade_picture_less", "Pict&ure", "&Fade less", (), "Show the picture stronger."),
    Command(
        "take_picture_away",
        "Pict&ure",
        "&Take away",
        (),
        "Take the picture from under the form; its file stays.",
        starts_group=True,
    ),
    Command(
        "compare_forms",
        "&Compare",
        "&Side by side",
        ("F4",),
        "The design beside its variants.",
        checkable=True,
    ),
    Command(
        "show_grid",
        "&Compare",
        "&Grid",
        ("Shift+F4",),
        "The design in many wires and sizes, or any two ways; click one to have it.",
        checkable=True,
    ),
    Command(
        "lay_over",
        "&Compare",
        "Lay o&ver each other",
        ("O",),
        "Outline on outline, told apart by line type.",
        checkable=True,
    ),
    Command(
        "pin_state",
        "&Compare",
        "P&in this state",
        ("P",),
        "Keep the form and wire as they are now as a variant that stays so.",
        starts_group=True,
    ),
    Command(
        "swap_variant",
        "&Compare",
        "Swap wi&th a variant...",
        (),
        "The variant becomes the design, and the design a variant.",
    ),
    Command(
        "add_variant",
        "&Compare",
        "&Add a variant...",
        (),
        "Name a difference: gauge, metal, size, hammering.",
    ),
    Command("remove_variant", "&Compare", "&Remove a variant...", (), "Take a variant out of the design."),
    Command(
        "keep_same",
        "&Compare",
        "Same &weight, look or price...",
        (),
        "In another metal, size or wire: solved, then kept as a variant.",
        starts_group=True,
    ),
    Command(
        "sample_in_brass",
        "&Compare",
        "&Brass sample...",
        (),
        "The wire to sample a gold or silver piece in, and what will differ.",
    ),
    Command(
        "show_own_pieces",
        "&Compare",
        "My own &pieces...",
        (),
        "Proportions on a scale of your own finished pieces.",
    ),
    Command(
        "own_hammer",
        "&Bench",
        "Own &hammer...",
        (),
        "Hammer samples and know how wide and how long yours makes the wire.",
    ),
    Command(
        "own_alloy",
        "&Bench",
        "Own &alloy...",
        (),
        "Its density from composition or from weighing, and its strength.",
    ),
    Command(
        "show_kept",
        "&Bench",
        "&Kept hammers and alloys...",
        (),
        "Your own, kept by name: look through them, take one away.",
    ),
    Command(
        "from_round_to_flat",
        "&Bench",
        "From round to &flat...",
        (),
        "Passes, anneals and tempers on the way to so thin or so wide.",
        starts_group=True,
    ),
    Command(
        "bend_spans",
        "&Bench",
        "&Bending the span...",
        (),
        "Tubes, how far past the turn to bend, and where the marks stand.",
    ),
    Command(
        "order_wire",
        "&Bench",
        "&Wire to order...",
        (),
        "What to buy for so many pieces, and what comes back.",
    ),
    Command(
        "show_cut_list",
        "&Bench",
        "Cut &list...",
        (),
        "Several designs cut from the lengths in the drawer, with the least wire taken.",
    ),
    Command(
        "show_feel",
        "&Bench",
        "F&eel...",
        (),
        "What opens the piece, how far it springs, and where it bends first.",
        starts_group=True,
    ),
    Command(
        "fit_to_size",
        "&Bench",
        "Fit to a si&ze...",
        (),
        "A ring, bracelet or hoop made to close at its size, five sizes as variants.",
    ),
    Command(
        "check_truth",
        "&Bench",
        "&True...",
        (),
        "Openings even, sides equal, and what comes together when the piece is rolled.",
    ),
    Command(
        "pearls_in_bays",
        "&Bench",
        "Pearls in the bay&s...",
        (),
        "The largest balls that fit between the loops, and pearls of your stock to set in them.",
        starts_group=True,
    ),
    Command(
        "stones_along",
        "&Bench",
        "Stones al&ong the wire...",
        (),
        "Evenly spaced places for heads or tubes, and whether the wire is wide enough.",
    ),
    Command(
        "room_for_mark",
        "&Bench",
        "Room for a quality &mark...",
        (),
        "Where a flat is large enough for a punch.",
    ),
    Command(
        "show_price",
        "&Bench",
        "&Price...",
        (),
        "Metal, work and findings at your own rates, line by line.",
        starts_group=True,
    ),
    Command(
        "lay_out_template",
        "&Template",
        "&Template for the bench...",
        ("Ctrl+P",),
        "Choose its parts and paper, see every sheet, save or print it.",
    ),
    Command("export_template", "&Template", "&One sheet to a file...", (), "All on one sheet, SVG or PDF."),
    Command(
        "export_card",
        "&Template",
        "&Bench card...",
        (),
        "The order of work with its numbers and boxes to tick: see every sheet, save or print it.",
        starts_group=True,
    ),
    Command(
        "change_working_order",
        "&Template",
        "Order of &work...",
        (),
        "Your own way of working for bench cards: order, words, steps of your own.",
    ),
    Command(
        "export_geometry",
        "&Template",
        "&Plain lines...",
        (),
        "Lines of the form at any stage and of the straight wire, for a cutter or plotter: SVG or DXF.",
        starts_group=True,
    ),
    Command("export_bends", "&Template", "Bends as &data...", (), "Each bend in order, CSV."),
    Command(
        "export_comparison",
        "&Template",
        "&Comparison sheet...",
        (),
        "Variants side by side, SVG, PDF or PNG.",
        starts_group=True,
    ),
    Command(
        "show_help", "&Help", "&How it works", ("F1",), "What the numbers mean and how to pull on a form."
    ),
    Command(
        "show_recipe", "&Help", "A bracelet in a &few pulls", (), "Seven steps from nothing to a bracelet."
    ),
    Command(
        "show_bench_numbers",
        "&Help",
        "&Numbers at the bench",
        (),
        "Your own hammer and alloy, with a worked example.",
    ),
    Command("show_keys", "&Help", "&Keys", ("Ctrl+K",), "Every command with its keys."),
    Command(
        "show_cautions", "&Help", "At the &bench: cautions", (), "Hammer, torch, acid, edges, nickel, marks."
    ),
    Command(
        "show_troubles",
        "&Help",
        "When something goes &wrong",
        (),
        "Saving, recovery, files and pictures refused, faults of the program.",
    ),
    Command("show_about", "&Help", "&About", (), "Version and licences."),
)
