"""Puts the model, the page's script and its look into one HTML file. Usage: pocket.py MODEL.wasm OUT.html"""
import base64
import gzip
import hashlib
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile


def read(path):
    return pathlib.Path(path).read_text(encoding="utf-8")


def hashed(text):
    return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"


# No page may hold these as they are: the first two are read as others, the third opens an element.
UNFIT = (0, 13, 60)


def packed(model):
    """As letters, seven bits each; those that a page may not hold stand 384 places higher."""
    if shutil.which("zopfli"):
        with tempfile.NamedTemporaryFile() as file:
            file.write(model)
            file.flush()
            small = subprocess.run(["zopfli", "--gzip", "-c", file.name], check=True, capture_output=True).stdout
    else:
        print("without zopfli the file is 4 % larger", file=sys.stderr)
        small = gzip.compress(model, 9, mtime=0)
    letters, rest, many = [], 0, 0
    for byte in small:
        rest, many = rest << 8 | byte, many + 8
        while many >= 7:
            many -= 7
            letters.append(rest >> many)
            rest &= (1 << many) - 1
    if many:
        letters.append(rest << 7 - many)
    return "".join(chr(letter + 384 if letter in UNFIT else letter) for letter in letters)


def without_notes(model):
    """The model without sections that say nothing to a browser: another tool's notes, names."""
    kept, at = model[:8], 8
    while at < len(model):
        length, shift, end = 0, 0, at + 1
        while True:
            length |= (model[end] & 127) << shift
            shift, end = shift + 7, end + 1
            if model[end - 1] < 128:
                break
        if model[at] != 0:
            kept += model[at:end + length]
        at = end + length
    return kept


model = without_notes(pathlib.Path(sys.argv[1]).read_bytes())
letters = packed(model)
style = read("src/report/style.css") + read("src/page/page.css")
script = read("pocket/page.js") + read("src/page/page.js") + "document.addEventListener('DOMContentLoaded', () => pocket.begin());\n"
worker = read("pocket/worker.js")
icon = base64.b64encode(read("src/page/icon.svg").encode()).decode()
for text in (script, worker, style):
    assert "</" not in text.replace("</h1>", "").replace("</p>", "").replace("</main>", ""), "it would end its element"
policy = "; ".join([
    "default-src 'none'", f"style-src {hashed(style)}", f"script-src {hashed(script)} 'wasm-unsafe-eval'", "worker-src blob: 'self'", "manifest-src 'self'",
    "img-src data:", "form-action 'none'", "base-uri 'none'",
])
page = f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>oilwheel</title>
<link rel="icon" href="data:image/svg+xml;base64,{icon}"><style>{style}</style></head>
<body><main><h1>oilwheel</h1><p>It starts in a moment. Where this stays, the file was opened in something that runs no script:
open it in a browser instead.</p></main>
<script type="text/plain" id="worker">{worker}</script>
<script>{script}</script>
<script type="text/plain" id="model">{letters}</script></body></html>
"""
out = pathlib.Path(sys.argv[2])
out.write_bytes(page.encode())
# What a web server needs beside it, so that a browser keeps it as an app without a network.
(out.parent / "oilwheel-offline.js").write_text(read("pocket/offline.js"), encoding="utf-8")
(out.parent / "oilwheel.webmanifest").write_text(json.dumps({
    "name": "oilwheel", "short_name": "oilwheel", "display": "standalone", "start_url": out.name,
    "icons": [{"src": f"data:image/svg+xml;base64,{icon}", "sizes": "any", "type": "image/svg+xml"}],
}), encoding="utf-8")
print(f"{out}: {out.stat().st_size} bytes; the model {len(model)}, packed {len(letters.encode())}; script {len(script) + len(worker)}, look {len(style)}")
