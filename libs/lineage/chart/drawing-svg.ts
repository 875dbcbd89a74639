import { type Box, type Drawing, type Label, LINE, type Stroke } from './drawing.core.js';

const FACES = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif";

/** Writes a drawing as an SVG document of its own: black on white, no script, no style sheet, nothing fetched. */
export function toSvg(drawing: Drawing): string {
  const { width, height } = drawing;
  return [
    `<?xml version="1.0" encoding="UTF-8"?>`,
    `<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="title description" width="297mm" height="${round((297 * height) / width)}mm" ` +
      `viewBox="0 0 ${round(width)} ${round(height)}" font-family="${FACES}">`,
    `<title id="title">${escapeXml(drawing.title)}</title>`,
    `<desc id="description">${escapeXml(drawing.description)}</desc>`,
    `<rect width="100%" height="100%" fill="#fff"/>`,
    ...drawing.strokes.map(stroke),
    ...drawing.boxes.map(box),
    ...drawing.labels.map(label),
    `</svg>`,
    '',
  ].join('\n');
}

/**
 * Text as content of an XML 1.0 document: characters that XML does not allow at all (control characters, halves of
 * surrogate pairs, U+FFFE, U+FFFF; XML 1.0, production 2) become U+FFFD.
 */
export function escapeXml(text: string): string {
  return text
    .replace(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu, '\ufffd')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&#39;');
}

function stroke({ points, dashed }: Stroke): string {
  const way = points.map(([x, y]) => `${round(x)},${round(y)}`).join(' ');
  return `<polyline points="${way}" fill="none" stroke="#000" stroke-width="0.8"${dashed ? ' stroke-dasharray="4 3"' : ''}/>`;
}

function box({ x, y, width, height, frame, grey }: Box): string {
  const line = {
    none: 'stroke="none"',
    thin: 'stroke="#000" stroke-width="0.8"',
    thick: 'stroke="#000" stroke-width="2.4"',
    dashed: 'stroke="#000" stroke-width="0.9" stroke-dasharray="4 3"',
  }[frame];
  const tone = Math.round(255 * (1 - (grey ?? 0)));
  return (
    `<rect x="${round(x)}" y="${round(y)}" width="${round(width)}" height="${round(height)}" ` +
    `fill="rgb(${tone},${tone},${tone})" ${line}/>`
  );
}

/** Each label in a viewport of its own: whatever face a reader has, no text runs into another. */
function label({ x, y, width, size, text, bold, italic, align, white }: Label): string {
  const anchor = align ?? 'start';
  const at = { start: 0, middle: width / 2, end: width }[anchor];
  const face =
    (bold === true ? ' font-weight="bold"' : '') +
    (italic === true ? ' font-style="italic"' : '') +
    (anchor === 'start' ? '' : ` text-anchor="${anchor}"`) +
    (white === true ? ' fill="#fff"' : '');
  return (
    `<svg x="${round(x)}" y="${round(y)}" width="${round(width)}" height="${round(size * LINE)}" overflow="hidden">` +
    `<text x="${round(at)}" y="${round(size)}" font-size="${round(size)}"${face}>${escapeXml(text)}</text></svg>`
  );
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
