import { type Box, type Drawing, fitText, type Label, LINE, PAGE, percent, textWidth } from './drawing.core.js';

/** One animal of a group, as it is written beside its row. */
export type GroupMember = {
  readonly name: string | null;
  readonly registerNumber: string;
  readonly knownAncestry: number;
};

/** What a kinship map is drawn from. */
export type KinshipMap = {
  readonly taxon: string;
  readonly members: readonly GroupMember[];
  /** Kinship of each with each, one row a member; with itself (1 + F) / 2. */
  readonly kinships: readonly (readonly number[])[];
  readonly asOf: string;
  readonly version: string;
};

/**
 * Steps of kinship, the closest first, and how dark each is drawn: far enough apart to be told from one another on a
 * black and white print. The kinships of textbook relationships without other ties begin a step (Wright 1922; Falconer &
 * Mackay ch. 5).
 */
export const STEPS: readonly { readonly from: number; readonly grey: number; readonly words: string }[] = [
  { from: 1 / 4, grey: 0.9, words: 'from 0.25: full siblings' },
  { from: 1 / 8, grey: 0.66, words: 'from 0.125: half siblings' },
  { from: 1 / 16, grey: 0.4, words: 'from 0.0625: first cousins' },
  { from: 1 / 32, grey: 0.25, words: 'from 0.0313: half first cousins' },
  { from: 1 / 64, grey: 0.13, words: 'from 0.0156: second cousins' },
  { from: Number.MIN_VALUE, grey: 0.05, words: 'less, but not 0' },
  { from: 0, grey: 0, words: '0: no shared ancestor known' },
];

/** Rounding of sums of halves: a kinship this little below a step belongs to it. */
const EPSILON = 1e-12;
const HEADER = 66;
const LEGEND = 62;
const WIDEST_LABEL = 330;
/** Side of a cell: at most, and from where a number is written into it. */
const LARGEST_CELL = 60;
const NUMBERED_CELL = 21;

/** Draws the kinship of each with each: a square field of cells, rows labelled, columns numbered like the rows. */
export function layoutKinshipMap(map: KinshipMap): Drawing {
  const { members, kinships } = map;
  const { width, height, margin } = PAGE;
  const count = members.length;
  const top = margin + HEADER;
  const cell = Math.min(
    LARGEST_CELL,
    (width - 2 * margin - WIDEST_LABEL) / count,
    (height - margin - LEGEND - top) / (count + 1),
  );
  const left = margin + WIDEST_LABEL;
  const boxes: Box[] = [];
  const labels: Label[] = header(map);
  for (const [i, member] of members.entries()) {
    const y = top + (i + 1) * cell;
    const number = { size: Math.min(9, cell * 0.6), text: String(i + 1), bold: true };
    const headY = top + cell - number.size * LINE;
    labels.push({ ...number, x: left + i * cell, y: headY, width: cell, align: 'middle' });
    labels.push(...rowLabels(member, i, { y, height: cell, width: WIDEST_LABEL - 8 }));
    for (const [j, kinship] of (kinships[i] ?? []).entries()) {
      const x = left + j * cell;
      const self = i === j;
      const grey = self ? 0 : (stepOf(kinship)?.grey ?? 0);
      boxes.push({ x, y, width: cell, height: cell, frame: 'thin', grey });
      if (cell < NUMBERED_CELL) continue;
      const text = cell >= 30 ? kinship.toFixed(3) : kinship.toFixed(2).replace(/^0/, '');
      const size = Math.min(10, (0.94 * cell) / textWidth(text, 1));
      labels.push({
        ...{ x, y: y + (cell - size * LINE) / 2, width: cell, size, text },
        ...{ align: 'middle', italic: self, white: grey > 0.5 },
      });
    }
  }
  // Drawn last, so that its frame lies over the cells beside it.
  for (let i = 0; i < count; i++)
    boxes.push({
      x: left + i * cell,
      y: top + (i + 1) * cell,
      width: cell,
      height: cell,
      frame: cell < NUMBERED_CELL ? 'thin' : 'thick',
      grey: 0,
    });
  const key = legend(cell < NUMBERED_CELL);
  return {
    title: `Kinship of ${count} animals, ${map.taxon}`,
    description: describe(map),
    width,
    height,
    boxes: [...boxes, ...key.boxes],
    strokes: [],
    labels: [...labels, ...key.labels],
  };
}

/** The step a kinship belongs to. */
export function stepOf(kinship: number): (typeof STEPS)[number] | undefined {
  return STEPS.find(({ from }) => (from > EPSILON ? kinship >= from - EPSILON : kinship >= from));
}

function rowLabels(member: GroupMember, index: number, row: { y: number; height: number; width: number }): Label[] {
  const size = Math.min(10, row.height / LINE);
  const y = row.y + (row.height - size * LINE) / 2;
  const number = { text: String(index + 1), width: textWidth('60', size) };
  const known = { text: percent(member.knownAncestry), width: textWidth('99.9 %', size) };
  const own = { text: member.registerNumber, width: textWidth('WWW-WWW-WWW', size) };
  const gap = 6;
  const nameWidth = row.width - number.width - known.width - own.width - 3 * gap;
  let x = PAGE.margin;
  const put = (text: string, width: number, more: Partial<Label> = {}): Label => {
    const label = { x, y, width, size, text, ...more };
    x += width + gap;
    return label;
  };
  return [
    put(number.text, number.width, { bold: true, align: 'end' }),
    put(fitText(member.name ?? '', size, nameWidth), nameWidth, { bold: true }),
    put(own.text, own.width),
    put(known.text, known.width, { align: 'end' }),
  ];
}

function header({ taxon, members, asOf, version }: KinshipMap): Label[] {
  const width = PAGE.width - 2 * PAGE.margin;
  const lines = [
    { text: `Kinship of ${members.length} animals`, size: 19, bold: true },
    { text: taxon, size: 11 },
    {
      text: `computed on ${asOf}, pedigree version ${version}; the share beside each animal is its known ancestry`,
      size: 9.5,
    },
  ];
  let y: number = PAGE.margin;
  return lines.map(({ text, size, bold }) => {
    const label = { x: PAGE.margin, y, width, size, text: fitText(text, size, width), bold: bold ?? false };
    y += size * LINE;
    return label;
  });
}

function legend(onlyShades: boolean): { boxes: Box[]; labels: Label[] } {
  const size = 8;
  const top = PAGE.height - PAGE.margin - LEGEND + 12;
  const each = (PAGE.width - 2 * PAGE.margin) / STEPS.length;
  const notes = [
    'Kinship of two animals is the inbreeding coefficient their offspring would have. It is a lower bound: unknown parents count as unrelated, so read it beside the known ancestry.',
    `On the diagonal, not shaded: each with itself, (1 + F) / 2.${onlyShades ? ' A smaller group is drawn with its numbers in the cells.' : ''}`,
  ];
  return {
    boxes: STEPS.map(({ grey }, k) => ({
      ...{ x: PAGE.margin + k * each, y: top, width: 10, height: 10 },
      ...{ frame: 'thin', grey },
    })),
    labels: [
      ...STEPS.map(({ words }, k) => ({
        ...{ x: PAGE.margin + k * each + 14, y: top - 1, width: each - 18, size: 6.5 },
        text: fitText(words, 6.5, each - 18),
      })),
      ...notes.map((text, k) => {
        const width = PAGE.width - 2 * PAGE.margin;
        return { x: PAGE.margin, y: top + 18 + k * size * LINE, width, size, text: fitText(text, size, width) };
      }),
    ],
  };
}

function describe({ members, kinships, asOf }: KinshipMap): string {
  const pairs = kinships.flatMap((row, i) => row.slice(i + 1));
  const mean = pairs.reduce((sum, kinship) => sum + kinship, 0) / Math.max(1, pairs.length);
  return (
    `Kinship of each of ${members.length} animals with each, computed on ${asOf}. ` +
    `Mean of the pairs ${mean.toFixed(4)}, closest ${Math.max(0, ...pairs).toFixed(4)}.`
  );
}
