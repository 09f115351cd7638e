"""Reads the structure of tagged PDFs with pikepdf, by ISO 32000-1, 14.7 and 14.8.

Arguments: files. Standard input: JSON {kind: "book" or "sheet"}. All that is painted stands in marked content, an artifact or a leaf of
the tree; every leaf is painted, once; headings nest; tables have head cells and even rows; pictures have words; pages have names; the
title is shown. Prints for each file, as JSON, how many elements of each kind it has, its title, its pages' names and all words for
pictures.
"""

import json
import sys

import pikepdf

PAINT = set("S s f F f* B B* b b* Tj TJ ' \" Do sh EI".split())
LEVELS = {f"H{k}": k for k in range(1, 7)}


def painted(page):
    """Numbers of the marked content on a page; all of its paint lies in such, or in an artifact."""
    numbers, open_marks = [], []
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name in ("BDC", "BMC"):
            assert not open_marks, "marks do not nest"
            number = operands[1].get("/MCID") if name == "BDC" and isinstance(operands[1], pikepdf.Dictionary) else None
            assert number is not None or str(operands[0]) == "/Artifact", operands
            open_marks.append(number)
            if number is not None:
                numbers.append(int(number))
        elif name == "EMC":
            open_marks.pop()
        elif name in PAINT:
            assert open_marks, f"{name} outside of all marks"
    assert not open_marks and len(numbers) == len(set(numbers))
    return set(numbers)


class Tree:
    def __init__(self, document):
        self.pages = {page.objgen: k for k, page in enumerate(document.pages)}
        self.leaves, self.objects, self.counts, self.alts, self.levels = [], 0, {}, [], []
        root = document.Root.StructTreeRoot
        (self.document,) = self.kids(root)
        self.roles = root.get("/RoleMap", {})
        self.walk(self.document, None)

    def kids(self, element):
        kids = element.get("/K", [])
        return list(kids) if isinstance(kids, pikepdf.Array) else [kids]

    def elements(self, element):
        return [kid for kid in self.kids(element) if isinstance(kid, pikepdf.Dictionary) and "/S" in kid]

    def role(self, element):
        role = str(element.S)[1:]
        return str(self.roles.get("/" + role, "/" + role))[1:]

    def walk(self, element, page):
        role = self.role(element)
        self.counts[role] = self.counts.get(role, 0) + 1
        page = element.get("/Pg", page)
        if role in LEVELS:
            self.levels.append(LEVELS[role])
        if role == "Figure":
            alt = str(element.get("/Alt", ""))
            assert alt.strip(), "a picture without words"
            self.alts.append(alt)
        if role == "Table":
            self.table(element)
        if role == "L":
            for item in (kid for kid in self.elements(element) if self.role(kid) != "Caption"):
                assert self.role(item) == "LI" and "LBody" in [self.role(part) for part in self.elements(item)], role
        if role == "Link":
            assert any(isinstance(kid, pikepdf.Dictionary) and str(kid.get("/Type", "")) == "/OBJR" for kid in self.kids(element))
        for kid in self.kids(element):
            if isinstance(kid, pikepdf.Dictionary) and str(kid.get("/Type", "")) == "/OBJR":
                self.objects += 1
            elif isinstance(kid, pikepdf.Dictionary) and str(kid.get("/Type", "")) == "/MCR":
                self.leaves.append((self.pages[kid.get("/Pg", page).objgen], int(kid.MCID)))
            elif isinstance(kid, pikepdf.Dictionary):
                assert kid.P.objgen == element.objgen
                self.walk(kid, page)
            else:
                self.leaves.append((self.pages[page.objgen], int(kid)))

    def table(self, table):
        parts = {self.role(part): part for part in self.elements(table)}
        (heads,) = self.elements(parts["THead"])
        columns = [self.role(cell) for cell in self.elements(heads)]
        assert columns and set(columns) == {"TH"}, columns
        for row in self.elements(parts["TBody"]) if "TBody" in parts else []:
            cells = [self.role(cell) for cell in self.elements(row)]
            assert len(cells) == len(columns) and cells[0] == "TH" and set(cells[1:]) <= {"TD"}, (columns, cells)


def labels(document):
    """The name of each page, by ISO 32000-1, 12.4.2."""
    nums = list(document.Root.PageLabels.Nums)
    starts = {int(nums[k]): nums[k + 1] for k in range(0, len(nums), 2)}
    names, rule, since = [], None, 0
    for k in range(len(document.pages)):
        if k in starts:
            rule, since = starts[k], k
        prefix = str(rule.get("/P", ""))
        number = str(int(rule.get("/St", 1)) + k - since) if str(rule.get("/S", "")) == "/D" else ""
        names.append(prefix + number)
    return names


def read(path, kind):
    with pikepdf.open(path) as document:
        root = document.Root
        assert root.MarkInfo.Marked and str(root.Lang) == "en"
        assert root.ViewerPreferences.DisplayDocTitle and root.ViewerPreferences.PrintScaling == "/None"
        title = str(document.docinfo.get("/Title", ""))
        with document.open_metadata() as metadata:
            assert title and metadata.get("dc:title") == title
        tree = Tree(document)
        drawn = [(k, number) for k, page in enumerate(document.pages) for number in painted(page)]
        assert sorted(tree.leaves) == sorted(drawn), "what is painted and what the tree holds differ"
        links = sum(len(page.get("/Annots", [])) for page in document.pages)
        assert tree.objects == links, (tree.objects, links)
        names = labels(document)
        assert all(names) and len(set(names)) == len(names), names
        if kind == "book":
            assert names == [str(k + 1) for k in range(len(names))], names
            assert tree.levels[0] == 1 and tree.levels.count(1) == 1
            assert all(b <= a + 1 for a, b in zip(tree.levels, tree.levels[1:])), tree.levels
        else:
            # Each page is one picture.
            assert tree.counts == {"Document": 1, "Figure": len(document.pages)}, tree.counts
        return {"title": title, "counts": tree.counts, "names": names, "alts": tree.alts}


def main():
    kind = json.load(sys.stdin)["kind"]
    json.dump([read(path, kind) for path in sys.argv[1:]], sys.stdout)


main()
