/** A line of text in the box that is kept free for it. Units are those of the drawing; y grows downwards. */
export type Label = {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  /** Height of the letters' em; the box is {@link LINE} times as high. */
  readonly size: number;
  readonly text: string;
  readonly bold?: boolean;
  readonly italic?: boolean;
  readonly align?: 'start' | 'middle' | 'end';
  readonly white?: boolean;
};

/** A frame, a field, or both. `grey` runs from 0 (white) to 1 (black). */
export type Box = {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly frame: 'none' | 'thin' | 'thick' | 'dashed';
  readonly grey?: number;
};

/** A thin line through these points. */
export type Stroke = { readonly points: readonly (readonly [number, number])[]; readonly dashed: boolean };

/** A page of lines and words: what a chart is before it is SVG. */
export type Drawing = {
  readonly title: string;
  readonly description: string;
  readonly width: number;
  readonly height: number;
  readonly boxes: readonly Box[];
  readonly strokes: readonly Stroke[];
  readonly labels: readonly Label[];
};

/** Height of a label's box over its size: room for the parts of letters above and below. */
export const LINE = 1.3;

/** A4 on its side at four units a millimetre: the usual page of a chart. */
export const PAGE = { width: 1188, height: 840, margin: 32 } as const;

/**
 * Widths of characters over their size: the advance widths of DejaVu Sans Bold, one of the widest common faces, rounded
 * up to the next twentieth (font files of the package dejavu-fonts-ttf).
 */
const WIDTHS: Readonly<Record<string, number>> = Object.fromEntries(
  (
    [
      [0.35, " 'ijl"],
      [0.4, ',./:;IJ\\|·'],
      [0.45, '-f'],
      [0.5, '!()[]_`rt–'],
      [0.6, '"*?csz'],
      [0.7, '$0123456789EFLTaekovxy“”'],
      [0.75, 'CPSYZbdghnpqu{}'],
      [0.8, 'ABKRVX'],
      [0.85, '#+<=>DGHNU^~'],
      [0.9, '&OQ'],
      [1, '@Mw…'],
      [1.05, '%m'],
      [1.15, 'W'],
    ] as const
  ).flatMap(([width, characters]) => [...characters].map((character) => [character, width])),
);

/** Other letters of Europe, and everything else: as wide as the widest of them (Ǆ, Ѽ), or as a picture. */
const WIDE = 1.5;

function widthOf(grapheme: string): number {
  return WIDTHS[grapheme] ?? WIDTHS[grapheme.normalize('NFD').charAt(0)] ?? WIDE;
}

/** A width that the text will not exceed in the faces that most systems have, bold or not. */
export function textWidth(text: string, size: number): number {
  let width = 0;
  for (const { segment } of graphemes.segment(text)) width += widthOf(segment);
  return width * size;
}

/** The text, cut with an ellipsis where it would be wider than `width`; characters stay whole. Empty where nothing fits. */
export function fitText(text: string, size: number, width: number): string {
  if (textWidth(text, size) <= width) return text;
  let kept = '';
  let used = textWidth('…', size);
  for (const { segment } of graphemes.segment(text)) {
    used += widthOf(segment) * size;
    if (used > width) break;
    kept += segment;
  }
  return kept === '' ? '' : `${kept.trimEnd()}…`;
}

/** Breaks words into lines no wider than `width`; a single word that is wider is cut. */
export function wrapText(text: string, size: number, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const last = lines.at(-1);
    if (last !== undefined && textWidth(`${last} ${word}`, size) <= width) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(fitText(word, size, width));
  }
  return lines;
}

/** A share as people read it: `12.5 %`. */
export function percent(share: number): string {
  if (share > 0 && share < 0.0005) return '< 0.1 %';
  if (share < 1 && share > 0.9995) return '> 99.9 %';
  return `${Number((share * 100).toFixed(1))} %`;
}

const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' });
