"""Prints the version of each peer library as imported: a quick proof that the environment works."""

import ezdxf
import html5lib
import numpy
import pdfplumber
import pikepdf
import scipy
import shapely

for library in (ezdxf, html5lib, numpy, pdfplumber, pikepdf, scipy, shapely):
    print(library.__name__, library.__version__)
