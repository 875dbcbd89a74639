import { createRequire } from 'node:module';
import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import PDFDocument from 'pdfkit';
import { packCandidates, type Pedigree, sortPedigree } from '../../genetics/index.js';
import { type Drawing, fitText, type Label, LINE, percent, textWidth, wrapText } from './drawing.core.js';
import { layoutPedigree, type PedigreeChart } from './pedigree-layout.core.js';
import { animalsOf, countPlaces, pedigreePlaces } from './pedigree-places.core.js';
import { type ChartAnimal } from './place-lines.core.js';

type Possible = { parent: number; probability: number }[];

/** Parents by number, one row an animal; a list of two and more holds the candidates. */
function toPedigree(rows: readonly { sire: Possible; dam: Possible }[]): Pedigree {
  const single = (side: 'sire' | 'dam') =>
    Int32Array.from(rows, (row) => (row[side].length === 1 ? (row[side][0]?.parent ?? -1) : -1));
  const several = (side: 'sire' | 'dam') =>
    packCandidates(rows.length, new Map(rows.flatMap((row, i) => (row[side].length < 2 ? [] : [[i, row[side]]]))));
  const sorted = sortPedigree(single('sire'), single('dam'), several('sire'), several('dam'));
  if (sorted.kind === 'cyclic') throw new Error('cyclic');
  return sorted.pedigree;
}

const certain = (...parents: number[]): Possible => parents.map((parent) => ({ parent, probability: 1 }));
const row = (sire: number | null, dam: number | null) => ({
  sire: sire === null ? [] : certain(sire),
  dam: dam === null ? [] : certain(dam),
});

function chartOf(pedigree: Pedigree, subject: number, generations: number, animal: PedigreeChart['animal']) {
  const root = pedigreePlaces(pedigree, subject, generations);
  const chart = {
    root,
    generations,
    animal,
    taxon: 'Testudo hermanni',
    inbreeding: 0.25,
    knownAncestry: 1,
    asOf: '2026-05-03',
    version: '7',
  };
  return { root, drawing: layoutPedigree(chart) };
}

const named = (animal: number): ChartAnimal => ({
  shown: true,
  name: `Name${animal}x`,
  registerNumber: '346-79C-DFG',
  sex: 'unknown',
  birthYear: 2000,
  isLot: false,
  declaredFounder: false,
});

const texts = (drawing: Drawing): string[] => drawing.labels.map(({ text }) => text);

/** A pedigree in which each animal's parents, none, one or several candidates, stand behind it; animal 0 is the subject. */
const pedigrees = fc
  .array(fc.tuple(fc.array(fc.nat(), { maxLength: 8 }), fc.array(fc.nat(), { maxLength: 8 }), fc.boolean()), {
    minLength: 1,
    maxLength: 40,
  })
  .map((drawn) =>
    toPedigree(
      drawn.map(([sires, dams, uncertain], i) => {
        const below = drawn.length - i - 1;
        const side = (values: number[]): Possible => {
          if (below === 0) return [];
          const parents = [...new Set(values.map((value) => i + 1 + (value % below)))];
          const kept = uncertain ? parents : parents.slice(0, 1);
          return kept.map((parent) => ({ parent, probability: 1 / kept.length }));
        };
        return { sire: side(sires), dam: side(dams) };
      }),
    ),
  );
const animals = fc.func(
  fc.oneof(
    fc.constant<ChartAnimal>({ shown: false }),
    fc.record({
      shown: fc.constant<true>(true),
      name: fc.option(fc.string({ unit: 'grapheme', minLength: 1, maxLength: 60 })),
      registerNumber: fc.constant('346-79C-DFG'),
      sex: fc.constantFrom('male' as const, 'female' as const, 'unknown' as const),
      birthYear: fc.option(fc.integer({ min: 1900, max: 2026 })),
      isLot: fc.boolean(),
      declaredFounder: fc.boolean(),
    }),
  ),
);

type Rectangle = { x: number; y: number; width: number; height: number };
const boxOf = ({ x, y, width, size }: Label): Rectangle => ({ x, y, width, height: size * LINE });
const meet = (a: Rectangle, b: Rectangle): boolean =>
  a.x < b.x + b.width - 1e-6 &&
  b.x < a.x + a.width - 1e-6 &&
  a.y < b.y + b.height - 1e-6 &&
  b.y < a.y + a.height - 1e-6;
const within = (inner: Rectangle, outer: Rectangle): boolean =>
  inner.x >= outer.x - 1e-6 &&
  inner.y >= outer.y - 1e-6 &&
  inner.x + inner.width <= outer.x + outer.width + 1e-6 &&
  inner.y + inner.height <= outer.y + outer.height + 1e-6;
const pairsThatMeet = (rectangles: readonly Rectangle[]): Rectangle[][] =>
  rectangles.flatMap((a, k) => rectangles.slice(k + 1).flatMap((b) => (meet(a, b) ? [[a, b]] : [])));

describe('a chart of any pedigree', () => {
  it('has no two texts, and no two cards, on the same spot; all text fits its place, all stands on the page', () => {
    fc.assert(
      fc.property(pedigrees, animals, fc.integer({ min: 1, max: 6 }), (pedigree, animal, generations) => {
        const { drawing } = chartOf(pedigree, 0, generations, animal);
        const page = { x: 0, y: 0, width: drawing.width, height: drawing.height };
        const labels = drawing.labels.map(boxOf);
        expect(pairsThatMeet(labels)).toEqual([]);
        expect(pairsThatMeet(drawing.boxes)).toEqual([]);
        expect([...labels, ...drawing.boxes].filter((each) => !within(each, page))).toEqual([]);
        // A text stands in a card or beside it, never across its edge.
        const across = labels.filter((label) => drawing.boxes.some((box) => meet(label, box) && !within(label, box)));
        expect(across).toEqual([]);
        expect(drawing.labels.filter(({ text, size, width }) => textWidth(text, size) > width + 1e-6)).toEqual([]);
        expect(drawing.width / drawing.height).toBeCloseTo(297 / 210, 2);
      }),
    );
  });

  it('draws every animal once, and every further place as a reference to it', () => {
    fc.assert(
      fc.property(pedigrees, fc.integer({ min: 1, max: 6 }), (pedigree, generations) => {
        const { root, drawing } = chartOf(pedigree, 0, generations, named);
        const drawn = animalsOf(root);
        expect(new Set(drawn).size).toBe(drawn.length);
        expect(new Set(countPlaces(root).keys())).toEqual(new Set(drawn));
        expect(drawing.boxes).toHaveLength(drawn.length);
      }),
    );
  });

  it('is the same each time', () => {
    fc.assert(
      fc.property(pedigrees, (pedigree) => {
        expect(chartOf(pedigree, 0, 4, named).drawing).toEqual(chartOf(pedigree, 0, 4, named).drawing);
      }),
    );
  });
});

describe('what a chart says', () => {
  it('of full siblings bred together: their parents once, then by number', () => {
    const pedigree = toPedigree([row(1, 2), row(3, 4), row(3, 4), row(null, null), row(null, null)]);
    const { drawing } = chartOf(pedigree, 0, 3, named);
    expect(texts(drawing).filter((text) => text.includes('Name3x'))).toEqual(['4 Name3x', 'sire is no. 4 Name3x']);
    expect(drawing.boxes.filter(({ frame }) => frame === 'thick')).toHaveLength(2);
    expect(texts(drawing)).toContain('F 0.2500');
    expect(texts(drawing).filter((text) => text === 'parents unknown')).toHaveLength(2);
  });

  it('of a half-known animal, and of a declared founder', () => {
    const pedigree = toPedigree([row(1, null), row(null, null)]);
    expect(texts(chartOf(pedigree, 0, 1, named).drawing)).toContain('dam unknown');
    const declared = (animal: number) => ({ ...named(animal), declaredFounder: true });
    expect(texts(chartOf(pedigree, 0, 2, declared).drawing)).toContain('declared founder');
    expect(texts(chartOf(pedigree, 0, 2, named).drawing)).not.toContain('declared founder');
  });

  it('of several possible parents: each with its probability, the likeliest first, many summed up', () => {
    const candidates = [0.05, 0.5, 0.05, 0.2, 0.1, 0.1].map((probability, k) => ({ parent: k + 1, probability }));
    const pedigree = toPedigree([{ sire: candidates, dam: [] }, ...candidates.map(() => row(null, null))]);
    const { root, drawing } = chartOf(pedigree, 0, 2, named);
    expect(root.parents.slice(0, 2)).toMatchObject([
      { kind: 'animal', animal: 2, probability: 0.5 },
      { kind: 'animal', animal: 4, probability: 0.2 },
    ]);
    expect(texts(drawing)).toEqual(expect.arrayContaining(['50 %', '20 %', '2 other possible sires, 10 %']));
    expect(drawing.boxes.filter(({ frame }) => frame === 'dashed')).toHaveLength(4);
  });

  it('of an animal that is a candidate near by and certain further away: it is drawn where it is certain, with its parents', () => {
    const pedigree = toPedigree([
      {
        sire: certain(1),
        dam: [
          { parent: 2, probability: 0.5 },
          { parent: 3, probability: 0.5 },
        ],
      },
      row(2, null),
      row(4, null),
      row(null, null),
      row(null, null),
    ]);
    const { root } = chartOf(pedigree, 0, 3, named);
    expect(root.parents.map(({ kind }) => kind)).toEqual(['animal', 'again', 'animal']);
    expect(animalsOf(root)).toContain(4);
  });

  it('of animals that are not shown: that they are there, and nothing else', () => {
    const pedigree = toPedigree([row(1, 2), row(3, null), row(3, null), row(null, null)]);
    const { drawing } = chartOf(pedigree, 0, 2, (animal) => (animal === 0 ? named(0) : { shown: false }));
    expect(texts(drawing).filter((text) => /Name[123]/.test(text))).toEqual([]);
    expect(texts(drawing)).toContain('sire is no. 4 not shown');
  });

  it('of one parent for both sides: a single place', () => {
    const { drawing } = chartOf(toPedigree([row(1, 1), row(null, null)]), 0, 1, named);
    expect(texts(drawing)).toContain('only parent · sex unknown · born 2000');
  });

  it('prints six full generations at 4.8 points or more', () => {
    const rows = Array.from({ length: 127 }, (_, i) => (2 * i + 2 < 127 ? row(2 * i + 1, 2 * i + 2) : row(null, null)));
    const { drawing } = chartOf(toPedigree(rows), 0, 6, named);
    const name = drawing.labels.find(({ text }) => text.includes('Name126x'));
    expect(((name?.size ?? 0) / drawing.width) * 297 * (72 / 25.4)).toBeGreaterThanOrEqual(4.8);
  });
});

describe('text on a chart', () => {
  /** Outside check: the font files of dejavu-fonts-ttf, measured by pdfkit (fontkit). */
  it('is never wider than reckoned in DejaVu Sans Bold: Latin, Greek, Cyrillic', () => {
    const font = createRequire(import.meta.url).resolve('dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf');
    const doc = new PDFDocument({ font });
    const letter = fc.oneof(
      fc.integer({ min: 0x20, max: 0x7e }),
      fc.integer({ min: 0xc0, max: 0x24f }),
      fc.integer({ min: 0x391, max: 0x3c9 }).filter((code) => code !== 0x3a2),
      fc.integer({ min: 0x400, max: 0x4ff }),
    );
    fc.assert(
      fc.property(fc.array(letter, { minLength: 1, maxLength: 30 }), (codes) => {
        const text = String.fromCodePoint(...codes);
        expect(doc.fontSize(10).widthOfString(text)).toBeLessThanOrEqual(textWidth(text, 10) + 0.01);
      }),
    );
  });

  it('is cut between characters, never inside one', () => {
    expect(fitText('Anna', 10, 1000)).toBe('Anna');
    expect(fitText('Annabella', 10, 40)).toMatch(/^Ann?a?…$/);
    expect(fitText('👩‍👩‍👧‍👦👩‍👩‍👧‍👦👩‍👩‍👧‍👦', 10, 26)).toBe('👩‍👩‍👧‍👦…');
    expect(fitText('Anna', 10, 1)).toBe('');
  });

  it('is broken between words', () => {
    expect(wrapText('one two three', 10, textWidth('one two', 10))).toEqual(['one two', 'three']);
  });

  it('gives shares as people read them, and rounds nothing to never or always', () => {
    expect([0, 0.125, 1, 0.0001, 0.9999].map(percent)).toEqual(['0 %', '12.5 %', '100 %', '< 0.1 %', '> 99.9 %']);
  });
});
