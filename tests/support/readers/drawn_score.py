"""What stands in an engraved page: how many of each mark, and its words."""

from collections import Counter
from xml.etree import ElementTree as Et

SVG = "{http://www.w3.org/2000/svg}"


def classes(svg: str) -> Counter[str]:
    """How often each class word stands in a drawing."""
    root = Et.fromstring(svg)
    return Counter(word for one in root.iter() for word in (one.get("class") or "").split())


def text_of(svg: str, kind: str) -> list[str]:
    """The texts of the elements of a class, in order."""
    return [
        "".join(one.itertext()).replace("\u00a0", " ").strip()
        for one in Et.fromstring(svg).iter(f"{SVG}g")
        if kind in (one.get("class") or "").split()
    ]
