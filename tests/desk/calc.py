"""A spreadsheet opened in a headless LibreOffice Calc that may fetch links. Run by the system's Python, which has uno.

/usr/bin/python3 tests/desk/calc.py FILE LOCALE     prints every cell that is not empty as JSON
"""

import json
import os
import subprocess
import sys
import tempfile
import time

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException

PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"
 xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Common/Security/Scripting"><prop oor:name="SecureURL" oor:op="fuse">
<value><it>{folder}</it></value></prop></item>
<item oor:path="/org.openoffice.Setup/L10N"><prop oor:name="ooSetupSystemLocale" oor:op="fuse">
<value>{locale}</value></prop></item>
</oor:items>"""
FULL_UPDATE = 3
"""UpdateDocMode: links are fetched as the document is loaded."""


def option(name, value):
    """Return a named value for Calc."""
    one = PropertyValue()
    one.Name, one.Value = name, value
    return one


def connected(pipe):
    """Return the desktop of the office that listens on a pipe, once it does."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    for _ in range(600):
        try:
            context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            return context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        except NoConnectException:
            time.sleep(0.1)
    raise SystemExit("the office does not answer")


def cells_of(document):
    """Return sheet → cell → what stands there: numbers as numbers, else the text shown."""
    found = {}
    for sheet in document.Sheets:
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        area = cursor.RangeAddress
        here = found[sheet.Name] = {}
        for row in range(area.EndRow + 1):
            for column in range(min(area.EndColumn, 25) + 1):
                cell = sheet.getCellByPosition(column, row)
                if cell.String:
                    number = cell.Type.value == "VALUE" or (
                        cell.Type.value == "FORMULA" and cell.FormulaResultType2 == 1
                    )
                    here[f"{chr(65 + column)}{row + 1}"] = cell.Value if number and not cell.getError() else cell.String
    return found


def main(path, locale):
    """Load, let the links fetch, print."""
    path = os.path.abspath(path)
    profile = tempfile.mkdtemp(prefix="calc-profile-")
    os.makedirs(profile + "/user")
    with open(profile + "/user/registrymodifications.xcu", "w", encoding="utf-8") as file:
        file.write(PROFILE.format(folder=uno.systemPathToFileUrl(os.path.dirname(path)), locale=locale))
    pipe = f"calc{os.getpid()}"
    arguments = ["--headless", "--norestore", "--nologo", "--nodefault", f"--accept=pipe,name={pipe};urp;"]
    office = subprocess.Popen(
        ["soffice", f"-env:UserInstallation=file://{profile}", *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    desktop = connected(pipe)
    try:
        options = (option("Hidden", True), option("UpdateDocMode", FULL_UPDATE))
        document = desktop.loadComponentFromURL(uno.systemPathToFileUrl(path), "_blank", 0, options)
        print(json.dumps(cells_of(document)))
        document.close(True)
    finally:
        desktop.terminate()
        office.wait(60)


if __name__ == "__main__":
    main(*sys.argv[1:])
