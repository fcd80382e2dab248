"""report.html: one page for the seller that needs nothing beside it.

page.py           the page; report.html.j2 lays it out
habits_chapter.py, carton_charts.py   the chapter on cartons, and what is drawn of each
ruler.py, chart.py   the pictures
"""
