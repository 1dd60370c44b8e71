"""Is a PDF fit for an archive? The rules of ISO 19005-2 (PDF/A-2, level U) that a program can look up
with pikepdf (the document), Python's XML reader (the metadata) and LittleCMS by Pillow (the colour
profile). Clause numbers from memory. Prints one line for each rule that is broken, then their count."""
import io
import sys
import xml.etree.ElementTree as xml

import pikepdf
from PIL import Image, ImageCms

path = sys.argv[1]
raw = open(path, "rb").read()
pdf = pikepdf.open(path)
broken = []


def rule(clause, what, kept):
    if not kept:
        broken.append(f"{clause} {what}")


def dictionaries():
    for thing in pdf.objects:
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            yield thing


rule("6.1.2", "header and a line of four high bytes", raw[:7] == b"%PDF-1." and min(raw.split(b"\n")[1][1:5]) > 127)
rule("6.1.3", "a file identifier, no encryption, nothing after the end", "/ID" in pdf.trailer and not pdf.is_encrypted
     and raw.rstrip().endswith(b"%%EOF"))
root = pdf.Root
rule("6.1.13", "no optional content", "/OCProperties" not in root)
rule("6.5", "no actions or scripts", "/OpenAction" not in root and "/AA" not in root and "/JavaScript" not in root.get("/Names", {}))
rule("6.4", "no forms", "/AcroForm" not in root)

intents = list(root.get("/OutputIntents", []))
rule("6.2.3", "one output intent with a profile", len(intents) == 1 and intents[0].S == "/GTS_PDFA1")
if intents:
    stream = intents[0].DestOutputProfile
    profile = ImageCms.ImageCmsProfile(io.BytesIO(bytes(stream.read_bytes())))
    rule("6.2.3", "its space is RGB, three parts", profile.profile.xcolor_space.strip() == "RGB" and stream.N == 3)
    # What it means: LittleCMS's own sRGB, colour by colour.
    ramp = Image.new("RGB", (4096, 1))
    ramp.putdata([(a * 17, b * 17, c * 17) for a in range(16) for b in range(16) for c in range(16)])
    own = ImageCms.createProfile("sRGB")
    turned = ImageCms.profileToProfile(ramp, profile, own)
    worst = max(abs(p - q) for x, y in zip(ramp.getdata(), turned.getdata()) for p, q in zip(x, y))
    rule("6.2.3", f"the profile is sRGB: off by {worst} of 255", worst <= 1)

for thing in dictionaries():
    kind = thing.get("/Type")
    if isinstance(thing, pikepdf.Stream):
        filters = thing.get("/Filter", [])
        rule("6.1.7", "no LZW, no outer file", "/LZWDecode" not in repr(filters) and "/F" not in thing)
    if thing.get("/Subtype") == "/Image":
        rule("6.2.8", "an image is not smoothed", not thing.get("/Interpolate", False) and "/Alternates" not in thing)
        rule("6.2.4", "an image's colours have a meaning", thing.get("/ColorSpace") in ("/DeviceRGB", "/DeviceGray"))
    if kind == "/ExtGState":
        rule("6.2.5", "no transfer function or halftone", not {"/TR", "/HTP", "/HT"} & set(thing.keys()))
    if thing.get("/S") == "/Transparency" and "/CS" in thing:
        rule("6.2.10", "groups blend in the colours of the intent", thing.CS in ("/DeviceRGB", "/DeviceGray"))
    rule("6.2.9", "no PostScript", thing.get("/Subtype") != "/PS")
    if kind == "/Font":
        descriptor = thing.get("/FontDescriptor")
        if thing.Subtype in ("/Type0", "/Type1", "/TrueType"):
            rule("6.2.11.7", f"letters of {thing.get('/BaseFont')} can be read out", "/ToUnicode" in thing)
        if thing.Subtype != "/Type0" and thing.Subtype != "/Type3":
            rule("6.2.11.4", f"{thing.get('/BaseFont')} is inside", descriptor is not None and {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor.keys()))
        if thing.Subtype == "/CIDFontType2":
            rule("6.2.11.3", "a map of its letters", "/CIDToGIDMap" in thing)
for page in pdf.pages:
    rule("6.3", "no annotations but links", all(a.Subtype == "/Link" for a in page.get("/Annots", [])))

stream = root.get("/Metadata")
rule("6.6.2", "metadata, not packed", stream is not None and "/Filter" not in stream)
if stream is not None:
    names = {"dc": "http://purl.org/dc/elements/1.1/", "xmp": "http://ns.adobe.com/xap/1.0/",
             "pdf": "http://ns.adobe.com/pdf/1.3/", "pdfaid": "http://www.aiim.org/pdfa/ns/id/",
             "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#"}
    tree = xml.fromstring(bytes(stream.read_bytes()).decode("utf-8-sig").split("?>", 1)[1].rsplit("<?", 1)[0])
    said = lambda name: (lambda found: None if found is None else (found.text or "").strip() or
                         (found.find(".//rdf:li", names).text if found.find(".//rdf:li", names) is not None else None))(tree.find(f".//{name}", names))
    rule("6.6.4", "says part 2, level U", said("pdfaid:part") == "2" and said("pdfaid:conformance") == "U")
    info = pdf.docinfo
    for key, name in (("/Title", "dc:title"), ("/Author", "dc:creator"), ("/Subject", "dc:description"),
                      ("/Keywords", "pdf:Keywords"), ("/Producer", "pdf:Producer"), ("/Creator", "xmp:CreatorTool")):
        mine = str(info[key]) if key in info else None
        rule("6.6.3", f"{key} says the same twice: {mine} / {said(name)}", mine == said(name))
    date = "".join(c for c in str(info.get("/CreationDate", "")) if c.isdigit())[:14]
    rule("6.6.3", "the date says the same twice", date == "".join(c for c in said("xmp:CreateDate") or "" if c.isdigit())[:14])
rule("6.7.4", "a language", "/Lang" in root)
print("\n".join(broken + [f"{len(broken)} rules broken"]))
