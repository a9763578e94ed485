"""What keeps someone from using a page, by axe, at a price that every page can pay.

Nearly all of axe's time goes into two rules, and most of what they look at is settled already.
Text of the same ink, size and weight on the same ground has the same contrast wherever it stands:
each such pair is looked at once. A target of which 24 px each way are plainly free is large enough:
axe measures the others.
"""

from __future__ import annotations

import json

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

WCAG = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")

_LOOK = """([only, known]) => {
  if (!("axe" in window)) return null;
  const met = new Set(known);
  const fresh = [];
  const styles = new Map();
  const styleOf = (each) => {
    if (!styles.has(each)) styles.set(each, getComputedStyle(each));
    return styles.get(each);
  };
  const path = (each) =>
    each ? `${path(each.parentElement)}>${each.tagName}.${each.getAttribute("class") ?? ""}` : "";
  // What a text's contrast comes of. One that is laid over its ground from outside counts by its
  // place in the page as well: what lies under it is none of the elements around it.
  const pairOf = (text) => {
    const { color, fontSize, fontWeight, textShadow } = styleOf(text);
    const pair = [color, fontSize, fontWeight, textShadow];
    let isLaid = false;
    for (let at = text; at; at = at.parentElement) {
      const { opacity, backgroundImage, backgroundColor, position } = styleOf(at);
      if (opacity !== "1") pair.push(`opacity ${opacity}`);
      if (backgroundImage !== "none") pair.push(backgroundImage);
      isLaid ||= position === "absolute" || position === "fixed";
      if (backgroundColor === "rgba(0, 0, 0, 0)") continue;
      pair.push(backgroundColor);
      if (!backgroundColor.startsWith("rgba")) break;
    }
    if (isLaid) pair.push(path(text));
    return pair.join("|");
  };
  const isText = (each) =>
    each.matches("input, textarea, select") ||
    [...each.childNodes].some((node) => node.nodeType === Node.TEXT_NODE && node.data.trim());
  const isClear = (target) => {
    const { left, top, width, height } = target.getBoundingClientRect();
    const [x, y] = [left + width / 2, top + height / 2];
    return [[0, 0], [-12, -12], [-12, 11.9], [11.9, -12], [11.9, 11.9]].every(([right, down]) => {
      const hit = document.elementFromPoint(x + right, y + down);
      return hit !== null && target.contains(hit);
    });
  };
  for (const each of document.querySelectorAll("body, body *")) {
    if (each.matches("a, button, input, select, textarea, summary") && isClear(each))
      each.setAttribute("data-clear", "");
    each.removeAttribute("data-new");
    if (!isText(each) || !each.checkVisibility()) continue;
    const pair = pairOf(each);
    if (met.has(pair)) continue;
    met.add(pair);
    fresh.push(pair);
    each.setAttribute("data-new", "");
  }
  if (only && !fresh.length) return [fresh, []];
  axe.configure({
    rules: [
      { id: "color-contrast", selector: "[data-new]" },
      { id: "target-size", selector: ":not([data-clear])" },
    ],
  });
  const runOnly = only ? { type: "rule", values: [only] } : { type: "tag", values: WCAG };
  return axe
    .run({ runOnly, reporter: "no-passes", selectors: false, preload: false })
    .then((found) => [
      fresh,
      found.violations.flatMap((rule) =>
        rule.nodes.map((node) => `${rule.id}: ${rule.help}: ${node.html.slice(0, 160)}`),
      ),
    ]);
}""".replace("WCAG", json.dumps(WCAG))


class Barriers:
    """Looks at pages; what was found good on one is not looked at again on the next."""

    def __init__(self) -> None:
        self._good: dict[str, dict[str, None]] = {"light": {}, "dark": {}}

    def __call__(self, page: Page) -> list[str]:
        """Every barrier by WCAG 2.2 AA, as the page stands: an empty list is good."""
        return self._look(page)[1]

    def in_both_schemes(self, page: Page) -> list[str]:
        """Every barrier, and what has too little contrast in the dark.

        A page whose every pair of ink and ground was met in the light has none to meet in the dark:
        each colour is a token of the style sheet, of one value in each scheme.
        """
        has_new, found = self._look(page)
        if has_new:
            page.emulate_media(color_scheme="dark")
            _, in_the_dark = self._look(page, "dark", "color-contrast")
            page.emulate_media(color_scheme="light")
            found += [f"dark: {each}" for each in in_the_dark]
        return found

    def _look(
        self, page: Page, scheme: str = "light", only: str | None = None
    ) -> tuple[bool, list[str]]:
        good = self._good[scheme]
        seen = page.evaluate(_LOOK, [only, list(good)])
        if seen is None:
            page.evaluate(AXE_SCRIPT)
            seen = page.evaluate(_LOOK, [only, list(good)])
        fresh, found = seen
        if not found:
            good.update(dict.fromkeys(fresh))
        return bool(fresh), list(found)
