import {
  type Box,
  type Drawing,
  fitText,
  type Label,
  LINE,
  PAGE,
  percent,
  type Stroke,
  textWidth,
  wrapText,
} from './drawing.core.js';
import { countPlaces, type Place } from './pedigree-places.core.js';
import { type ChartAnimal, type Detail, placeHeight, type PlaceLine, placeLines } from './place-lines.core.js';

/** What a chart of an animal's pedigree is drawn from. */
export type PedigreeChart = {
  readonly root: Extract<Place, { kind: 'animal' }>;
  readonly generations: number;
  readonly animal: (animal: number) => ChartAnimal;
  readonly taxon: string;
  readonly inbreeding: number;
  readonly knownAncestry: number;
  /** The day it was computed, and the version of the pedigree. */
  readonly asOf: string;
  readonly version: string;
};

const COLUMN_GAP = 20;
const SMALL = 9.5;
/** How far rows may be drawn apart to fill a page. */
const MOST_AIR = 1.7;
/** Width a card with three lines should have at scale 1. */
const GOOD_WIDTH = 170;

/** The forms a chart may take, the most generous first: the first that fits the page is drawn. */
const DETAILS: readonly Detail[] = [
  { lines: 3, scale: 1.5 },
  { lines: 3, scale: 1.2 },
  { lines: 3, scale: 1 },
  { lines: 2, scale: 1 },
  { lines: 1, scale: 1 },
];

/**
 * Lays out a pedigree: the subject at the left, a column a generation, sire above dam, lines between. Every animal is
 * drawn once; a further place names its number. The page is A4 on its side; what does not fit with all details is drawn
 * with smaller letters and fewer lines a card, and what does not fit then makes the drawing larger, so that it prints
 * smaller.
 */
export function layoutPedigree(chart: PedigreeChart): Drawing {
  const { root, generations } = chart;
  const numbers = numberAnimals(root);
  const detail = chooseDetail(chart);
  const needed = heightOf(root, 0, generations, detail);
  const height = Math.max(PAGE.height, needed + PAGE.height - ROOM);
  const width = (height * PAGE.width) / PAGE.height;
  const room = height - (PAGE.height - ROOM);
  const drawn = Math.min(room, needed * MOST_AIR);
  const columnWidth = widthOfColumns(width, generations);
  const places = countPlaces(root);
  const boxes: Box[] = [];
  const strokes: Stroke[] = [];
  const labels: Label[] = [...header(chart, width), ...columnHeads(generations, columnWidth), ...legend(width, height)];

  /** Puts a place and all beyond it into the space from `from` on; gives the height at which a line meets it. */
  const put = (place: Place, generation: number, from: number, space: number): number => {
    const own = detailAt(generation, generations, detail);
    const x = PAGE.margin + generation * (columnWidth + COLUMN_GAP);
    const middle = from + space / 2;
    const card = { x, y: middle - placeHeight(place, own) / 2, width: columnWidth, height: placeHeight(place, own) };
    const { frame, lines } = placeLines(place, chart.animal, numbers, own);
    const several = place.kind === 'animal' && (places.get(place.animal) ?? 0) > 1;
    if (frame !== 'none') boxes.push({ ...card, frame: several && frame === 'thin' ? 'thick' : frame });
    labels.push(...writeLines(card, lines));
    if (place.kind !== 'animal' || place.parents.length === 0) return middle;
    const needs = place.parents.map((parent) => heightOf(parent, generation + 1, generations, detail));
    const spare = (space - needs.reduce((sum, need) => sum + need, 0)) / needs.length;
    let next = from;
    for (const [k, parent] of place.parents.entries()) {
      const share = (needs[k] ?? 0) + spare;
      const at = put(parent, generation + 1, next, share);
      const uncertain = parent.kind !== 'unknown' && parent.probability < 1;
      strokes.push({ points: elbow(x + columnWidth, middle, at), dashed: uncertain });
      next += share;
    }
    return middle;
  };
  put(root, 0, PAGE.margin + HEADER + (room - drawn) / 2, drawn);
  const title = `Pedigree of ${nameOf(chart)}`;
  return { title, description: describe(chart, numbers.size), width, height, boxes, strokes, labels };
}

const HEADER = 76;
const LEGEND_LINES = [
  'The animal stands at the left, each column to the right is a generation further back, the sire above the dam. Every animal is drawn once: ' +
    '“sire is no. 7” points to the card with the number 7, and a thick frame marks an animal that stands in more than one place. A broken line leads to one of several ' +
    'possible parents, also written “sire?”, with the probability recorded; beyond it nothing is drawn. “Unknown”: nothing is recorded. “Declared founder”: from outside the pedigree, its parents are not looked for. “Only parent”: sire and dam in one. “Not shown”: recorded, and not shared with you.',
  'F, the inbreeding coefficient, is the kinship of the parents. It is a lower bound, because unknown parents count as unrelated: read it beside the share of the ' +
    'ancestry that is known. Both are computed from all of the recorded pedigree of the taxon, shared or not, and not only from what is drawn.',
];
const LEGEND = 56;
/** Height left for cards on an A4 page. */
const ROOM = PAGE.height - 2 * PAGE.margin - HEADER - LEGEND;

function widthOfColumns(width: number, generations: number): number {
  return (width - 2 * PAGE.margin - generations * COLUMN_GAP) / (generations + 1);
}

function chooseDetail({ root, generations }: PedigreeChart): Detail {
  const columnWidth = widthOfColumns(PAGE.width, generations);
  const fitting = DETAILS.find(
    (detail) =>
      (detail.scale <= 1 || columnWidth >= detail.scale * GOOD_WIDTH) && heightOf(root, 0, generations, detail) <= ROOM,
  );
  return fitting ?? { lines: 1, scale: 1 };
}

/** Lines of a card: as chosen in the last generation, one more in each before it, three at most. */
function detailAt(generation: number, generations: number, { lines, scale }: Detail): Detail {
  return { lines: Math.min(3, lines + generations - generation), scale };
}

/** Height a place needs with all that is drawn beyond it. */
function heightOf(place: Place, generation: number, generations: number, detail: Detail): number {
  const own =
    placeHeight(place, detailAt(generation, generations, detail)) + (detail.lines === 1 ? 1.5 : 5) * detail.scale;
  if (place.kind !== 'animal') return own;
  return Math.max(
    own,
    place.parents.reduce((sum, parent) => sum + heightOf(parent, generation + 1, generations, detail), 0),
  );
}

/** A line from the right edge of one card to the left edge of another, with two turns half way. */
function elbow(right: number, from: number, to: number): (readonly [number, number])[] {
  const [turn, end] = [right + COLUMN_GAP / 2, right + COLUMN_GAP];
  if (Math.abs(to - from) < 0.01)
    return [
      [right, from],
      [end, to],
    ];
  return [
    [right, from],
    [turn, from],
    [turn, to],
    [end, to],
  ];
}

const PADDING = 5;

/** Lines one under another, in the middle of their card. */
function writeLines(
  card: { x: number; y: number; width: number; height: number },
  lines: readonly PlaceLine[],
): Label[] {
  const total = lines.reduce((sum, { size }) => sum + size * LINE, 0);
  const x = card.x + PADDING;
  const width = card.width - 2 * PADDING;
  let y = card.y + (card.height - total) / 2;
  return lines.flatMap(({ text, right, size, bold, italic }): Label[] => {
    // What stands at the right is never cut, unless it alone is wider than the card.
    const aside = right === '' ? 0 : Math.min(textWidth(right, size), width);
    const left = width - aside - (right === '' ? 0 : PADDING);
    const at = { y, size, bold, italic };
    y += size * LINE;
    return [
      ...(left > 0 ? [{ ...at, x, width: left, text: fitText(text, size, left) }] : []),
      ...(right === ''
        ? []
        : [{ ...at, x: x + width - aside, width: aside, text: fitText(right, size, aside), align: 'end' as const }]),
    ];
  });
}

/** Numbers the animals as a reader meets them: column by column, from the top. */
function numberAnimals(root: Place): Map<number, number> {
  const numbers = new Map<number, number>();
  for (let level: Place[] = [root]; level.length > 0;) {
    for (const place of level) if (place.kind === 'animal') numbers.set(place.animal, numbers.size + 1);
    level = level.flatMap((place) => (place.kind === 'animal' ? place.parents : []));
  }
  return numbers;
}

function nameOf({ animal, root }: PedigreeChart): string {
  const subject = animal(root.animal);
  return subject.shown ? (subject.name ?? subject.registerNumber) : 'an animal that is not shown';
}

function header(chart: PedigreeChart, width: number): Label[] {
  const subject = chart.animal(chart.root.animal);
  const right = [
    { text: `F ${chart.inbreeding.toFixed(4)}`, size: 19, bold: true },
    { text: `known ancestry ${percent(chart.knownAncestry)}`, size: 11 },
    { text: `computed on ${chart.asOf}, pedigree version ${chart.version}`, size: SMALL },
  ];
  const rightWidth = Math.max(...right.map(({ text, size }) => textWidth(text, size))) + 2;
  const leftWidth = width - 2 * PAGE.margin - rightWidth - 20;
  const left = [
    { text: `Pedigree of ${nameOf(chart)}`, size: 19, bold: true },
    { text: subject.shown ? [subject.registerNumber, chart.taxon].join(' · ') : chart.taxon, size: 11 },
  ];
  const at = { left: PAGE.margin, right: PAGE.margin };
  return [
    ...left.map(({ text, size, bold }): Label => {
      const y = at.left;
      at.left += size * LINE;
      return { x: PAGE.margin, y, width: leftWidth, size, text: fitText(text, size, leftWidth), bold: bold ?? false };
    }),
    ...right.map(({ text, size, bold }): Label => {
      const y = at.right;
      at.right += size * LINE;
      const x = width - PAGE.margin - rightWidth;
      return { x, y, width: rightWidth, size, text, bold: bold ?? false, align: 'end' };
    }),
  ];
}

const COLUMN_NAMES = ['animal', 'parents', 'grandparents', 'great-grandparents'];

function columnHeads(generations: number, columnWidth: number): Label[] {
  return Array.from({ length: generations + 1 }, (_, g) => ({
    x: PAGE.margin + g * (columnWidth + COLUMN_GAP),
    y: PAGE.margin + HEADER - 18,
    width: columnWidth,
    size: SMALL,
    text: fitText(COLUMN_NAMES[g] ?? `generation ${g}`, SMALL, columnWidth),
    italic: true,
  }));
}

function legend(width: number, height: number): Label[] {
  const size = 8;
  const wide = width - 2 * PAGE.margin;
  const lines = LEGEND_LINES.flatMap((text) => wrapText(text, size, wide));
  return lines.map((text, k) => ({
    x: PAGE.margin,
    y: height - PAGE.margin - (lines.length - k) * size * LINE,
    width: wide,
    size,
    text,
  }));
}

/** What the chart shows, for readers who hear it. */
function describe(chart: PedigreeChart, animals: number): string {
  const { root, generations } = chart;
  const parents = root.parents.map(
    (place) => placeLines(place, chart.animal, new Map(), { lines: 1, scale: 1 }).lines[0]?.text ?? '',
  );
  return (
    `Pedigree over ${generations} ${generations === 1 ? 'generation' : 'generations'}, ${animals} animals, one column a generation. ` +
    `Inbreeding coefficient ${chart.inbreeding.toFixed(4)}, known ancestry ${percent(chart.knownAncestry)}, ` +
    `computed on ${chart.asOf}. Parents: ${parents.join('; ')}.`
  );
}
