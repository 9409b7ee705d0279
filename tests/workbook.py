"""Prints every cell of a workbook as JSON, read by a library that is not this project's.

Usage: workbook.py FILE; prints {sheet: [[cell, ...], ...]}, with numbers as numbers and empty cells as null.
"""

import json
import sys

import openpyxl

book = openpyxl.load_workbook(sys.argv[1])
print(json.dumps({sheet.title: [list(row) for row in sheet.iter_rows(values_only=True)] for sheet in book}))
