"""Opens layers of a GeoPackage in a general-purpose GIS and prints how each is drawn by default:
/usr/bin/python3 layer_styles.py FILE LAYER...  Needs Debian's python3-qgis."""
import os
import sys

os.environ["QT_QPA_PLATFORM"] = "offscreen"
from qgis.core import QgsApplication, QgsVectorLayer  # noqa: E402

app = QgsApplication([], False)
app.initQgis()
for name in sys.argv[2:]:
    layer = QgsVectorLayer(f"{sys.argv[1]}|layername={name}", name, "ogr")
    renderer = layer.renderer()
    if renderer.type() == "RuleRenderer":
        drawn = ["{}:{}".format(r.label(), r.symbol().color().name()) for r in renderer.rootRule().children()]
    else:
        drawn = [renderer.symbol().color().name()]
    label = layer.labeling().settings().fieldName if layer.labeling() else ""
    print(name, layer.isValid(), layer.featureCount(), renderer.type(), *drawn, f"label={label}")
sys.stdout.flush()
os._exit(0)  # its own exit is not always clean without a window
