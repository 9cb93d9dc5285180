# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the checks of every page in a browser, as expressions for Browser.value; each returns a list of faults."""

# Labels of one chart that overlap each other or extend beyond its edge, in the page's own pixels. One pixel is allowed for the anti-aliased rim.
LAYOUT_FAULTS = """(() => {
  const faults = [];
  const box = e => e.getBoundingClientRect();
  const name = e => e.textContent.trim();
  for (const svg of document.querySelectorAll('svg')) {
    const edge = box(svg), texts = [...svg.querySelectorAll('text')].filter(name);
    for (const t of texts) {
      const b = box(t);
      if (b.left < edge.left - 1 || b.right > edge.right + 1 || b.top < edge.top - 1 || b.bottom > edge.bottom + 1) faults.push('cut: ' + name(t));
    }
    texts.forEach((a, i) => texts.slice(i + 1).forEach(b => {
      const p = box(a), q = box(b);
      const across = Math.min(p.right, q.right) - Math.max(p.left, q.left), down = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
      if (across > 1 && down > 3) faults.push('overlap: ' + name(a) + ' / ' + name(b));
    }));
  }
  for (const e of document.querySelectorAll('p, h1, h2, h3, li, td, th, figure, table')) {
    const b = box(e);
    if (b.width > 0 && !e.closest('.wide thead') && b.right > innerWidth + 1) faults.push('over the edge: ' + e.tagName + ' ' + name(e).slice(0, 40));
  }
  return faults;
})()"""

# Colours of a chart that would not change with the scheme, and labels with too little contrast to the background (WCAG requires 4.5 for text).
UNTHEMED = """(() => {
  const light = c => { const [r, g, b] = c.match(/[0-9.]+/g).map(v => (v /= 255) <= .03928 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4);
                       return .2126 * r + .7152 * g + .0722 * b; };
  const paper = light(getComputedStyle(document.body).backgroundColor);
  const contrast = c => { const [a, b] = [light(c), paper].sort((x, y) => y - x); return (a + .05) / (b + .05); };
  const fixed = [...document.querySelectorAll('svg *')].flatMap(e => [...e.attributes]).map(a => a.value).filter(v => /rgb\\(|#[0-9a-f]{6}|^(black|white)$/i.test(v));
  const faint = [...document.querySelectorAll('svg text')].filter(t => contrast(getComputedStyle(t).fill) < 4.5).map(t => t.textContent.trim());
  return [...new Set([...fixed, ...faint])];
})()"""
