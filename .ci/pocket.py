"""Puts the model, the page's script and its look into one HTML file. Usage: pocket.py MODEL.wasm OUT.html"""
import base64
import gzip
import hashlib
import io
import pathlib
import sys


def read(path):
    return pathlib.Path(path).read_text(encoding="utf-8")


def hashed(text):
    return "'sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() + "'"


def packed(model):
    """As letters, five for four bytes; a name in the packed text fills it up to whole fours."""
    for length in range(5):
        out = io.BytesIO()
        with gzip.GzipFile("o" * length, "wb", 9, out, mtime=0) as file:
            file.write(model)
        if len(out.getvalue()) % 4 == 0:
            break
    return base64.a85encode(out.getvalue()).decode().replace("z", "!!!!!").replace("<", "v")


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
    "default-src 'none'", f"style-src {hashed(style)}", f"script-src {hashed(script)} 'wasm-unsafe-eval'", "worker-src blob:",
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
out.write_text(page, encoding="utf-8")
print(f"{out}: {out.stat().st_size} bytes; the model {len(model)}, packed {len(letters)}; script {len(script) + len(worker)}, look {len(style)}")
