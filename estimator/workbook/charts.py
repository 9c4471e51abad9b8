"""Pictures: bars over the cells they show, in shades that differ in grey."""

from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference, Series
from openpyxl.chart.axis import ChartLines
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.text import CharacterProperties, Paragraph, ParagraphProperties, RegularTextRun
from openpyxl.worksheet.worksheet import Worksheet

from estimator.calc.expressions import Field
from estimator.calc.tables import Chart, FieldAddresses
from estimator.workbook.styles import INK, LINE, SERIES

WIDTH_CM, HEIGHT_CM, ROWS_EACH = 18, 9.5, 20
TITLE_SIZE, AXIS_SIZE = 1200, 900


def _cells(book: Workbook, placement: FieldAddresses, field: Field) -> Reference:
    sheet, top, left = placement.cell(field, 0)
    _, bottom, right = placement.cell(field, len(field.values) - 1)
    return Reference(book[sheet], min_col=left, min_row=top, max_col=right, max_row=bottom)


def _title(text: str, size: int) -> Title:
    letters = CharacterProperties(sz=size, b=True, solidFill=INK)
    run = RegularTextRun(rPr=letters, t=text)
    paragraph = Paragraph(pPr=ParagraphProperties(defRPr=letters), r=[run])
    return Title(tx=Text(rich=RichText(p=[paragraph])), overlay=False)


def _bars(book: Workbook, placement: FieldAddresses, chart: Chart) -> BarChart:
    bars = BarChart()
    bars.type, bars.title = "col", _title(chart.title, TITLE_SIZE)
    bars.width, bars.height = WIDTH_CM, HEIGHT_CM
    bars.gapWidth = 60
    for colour, field in zip(SERIES, chart.series, strict=False):
        series = Series(_cells(book, placement, field), title=field.label)
        outline = LineProperties(solidFill=INK)
        series.graphicalProperties = GraphicalProperties(solidFill=colour, ln=outline)
        bars.series.append(series)
    bars.set_categories(_cells(book, placement, chart.labels))
    bars.y_axis.title = _title(chart.axis, AXIS_SIZE)
    bars.x_axis.title = _title(chart.labels.label, AXIS_SIZE)
    bars.y_axis.majorGridlines = ChartLines(GraphicalProperties(ln=LineProperties(solidFill=LINE)))
    bars.visible_cells_only = False  # labels may stand in the hidden key column
    bars.x_axis.delete = bars.y_axis.delete = False
    if len(chart.series) == 1:
        bars.legend = None
    else:
        bars.legend.position = "b"
    return bars


def draw(sheet: Worksheet, charts: tuple[Chart, ...], placement: FieldAddresses, row: int) -> int:
    """Put charts on a sheet, one under the other from `row` on; returns how many have cells to show.

    Raises:
        ValueError: more series than there are shades to tell them by.
    """
    drawn = 0
    for chart in charts:
        if len(chart.series) > len(SERIES):
            raise ValueError(f"{chart.title}: at most {len(SERIES)} series can be told apart in grey")
        if chart.labels.values and sheet.parent is not None:
            sheet.add_chart(_bars(sheet.parent, placement, chart), f"B{row + ROWS_EACH * drawn}")
            drawn += 1
    return drawn
