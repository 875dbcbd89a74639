import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { LINE, textWidth } from './drawing.core.js';
import { type KinshipMap, layoutKinshipMap, stepOf, STEPS } from './kinship-map.core.js';

const mapOf = (count: number, name: string | null = 'Amber', kinship = 0.125): KinshipMap => ({
  taxon: 'Testudo hermanni',
  members: Array.from({ length: count }, () => ({ name, registerNumber: 'WWW-WWW-WWW', knownAncestry: 0.999 })),
  kinships: Array.from({ length: count }, (_, i) =>
    Array.from({ length: count }, (__, j) => (i === j ? 0.5 : kinship)),
  ),
  asOf: '2026-05-03',
  version: '7',
});

describe('a kinship map', () => {
  it('has no two texts on the same spot, all of them wide enough and on the page, for 2 to 60 animals', () => {
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 60 }), fc.option(fc.string({ unit: 'grapheme' })), (count, name) => {
        const { labels, boxes, width, height } = layoutKinshipMap(mapOf(count, name));
        const sorted = labels.toSorted((a, b) => a.y - b.y);
        const faults = sorted.filter((a, k) => {
          const isOff = a.x < 0 || a.x + a.width > width || a.y + a.size * LINE > height;
          const below = sorted.slice(k + 1).filter((b) => b.y < a.y + a.size * LINE - 1e-6);
          const meets = below.some((b) => a.x + a.width > b.x + 1e-6 && b.x + b.width > a.x + 1e-6);
          return isOff || meets || textWidth(a.text, a.size) > a.width + 1e-6;
        });
        expect(faults).toEqual([]);
        expect(boxes.filter((box) => box.x + box.width > width || box.y + box.height > height)).toEqual([]);
      }),
      { numRuns: 30 },
    );
  });

  it('prints the numbers where there is room, and shades alone where there is none', () => {
    expect(layoutKinshipMap(mapOf(10)).labels.filter(({ text }) => text === '0.125')).toHaveLength(90);
    expect(layoutKinshipMap(mapOf(10)).labels.filter(({ text }) => text === '0.500')).toHaveLength(10);
    expect(layoutKinshipMap(mapOf(60)).labels.filter(({ text }) => /125/.test(text) && text.length < 6)).toEqual([]);
  });

  it('darkens cells by step, each clearly apart from the next, and shades no animal with itself', () => {
    expect([0, 1e-9, 1 / 64, 0.04, 1 / 16, 0.125 - 1e-15, 0.2, 0.25, 0.9].map((value) => stepOf(value)?.words)).toEqual(
      [
        '0: no shared ancestor known',
        'less, but not 0',
        'from 0.0156: second cousins',
        'from 0.0313: half first cousins',
        'from 0.0625: first cousins',
        'from 0.125: half siblings',
        'from 0.125: half siblings',
        'from 0.25: full siblings',
        'from 0.25: full siblings',
      ],
    );
    for (const [k, { grey }] of STEPS.entries())
      if (k > 0) expect((STEPS[k - 1]?.grey ?? 0) - grey).toBeGreaterThan(0.04);
    const { boxes } = layoutKinshipMap(mapOf(3));
    expect(boxes.filter(({ frame }) => frame === 'thick').map(({ grey }) => grey)).toEqual([0, 0, 0]);
  });
});
