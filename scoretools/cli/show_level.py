"""How a level is printed: the level, its reasons, the hardest bars, and all features."""

from rich.console import Console

from scoretools.cli.show import show_line, show_section
from scoretools.difficulty import Level
from scoretools.difficulty.rubric import figure_in_words
from scoretools.model import Analysis, Part
from scoretools.note_names import said
from scoretools.write.summary import bar_ranges, hardest_bars, heading

__all__ = ["show_level"]


def show_level(analysis: Analysis, level: Level) -> None:
    """Print a level with all it rests on."""
    console = Console(highlight=False)
    show_line(console, "", heading(analysis), "bold")
    console.print()
    show_line(console, "", f"By the rubric “{level.rubric}”: {level.label}", "bold")
    show_line(console, "", f"The level is {level.about}.", "")
    tempo = _assumed(analysis.part) if level.tempo_assumed else "the printed tempo"
    profile = level.profile.replace("-", " ")
    show_line(
        console, "", f"Fingered for: {profile}. It rests on {tempo}; divisi: {level.divisi}.", ""
    )
    if level.reasons:
        show_section(console, "Why", [("- ", said(reason)) for reason in level.reasons])
    bars = [sentence for _, sentence in hardest_bars(analysis)]
    if bars:
        show_section(console, "Hardest bars first", [("- ", sentence) for sentence in bars])
    lines = []
    for feature in level.features:
        where = f" ({bar_ranges(analysis, feature.peak)})" if feature.peak else ""
        figure = figure_in_words(feature.name, feature.value)
        lines.append(("- ", f"{said(feature.words)}: {figure}{where}"))
    show_section(console, "Features, with the bars where there is most", lines)


def _assumed(part: Part) -> str:
    speeds = sorted({tempo.quarters_per_minute for tempo in part.tempi if tempo.assumed})
    slowest, fastest = f"{speeds[0]:g}", f"{speeds[-1]:g}"
    figures = slowest if slowest == fastest else f"{slowest} to {fastest}"
    return f"an assumed tempo ({figures} quarter notes a minute)"
