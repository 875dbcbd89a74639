import { describe, expect, it } from '@jest/globals';
import { day, parseEdtf } from '../../kernel/index.js';
import {
  type ClutchLikeness,
  type ClutchReport,
  isProbablySame,
  layingSpan,
  mergeReports,
  type WrittenDays,
} from './clutch.core.js';

function days(edtf: string): WrittenDays {
  const read = parseEdtf(edtf);
  if (!read.ok) throw new Error(read.message);
  const { earliest, latest } = read.value;
  return { edtf, earliest, latest };
}

function clutch(damIds: string[], laid: string, enclosureId: string | null = null): ClutchLikeness {
  return { id: `${damIds.join()} ${laid}`, damIds, enclosureId, laid: days(laid) };
}

describe('two reports of one clutch', () => {
  it.each([
    ['the same dam on days that overlap', clutch(['a'], '2026-05-01/2026-05-05'), clutch(['a'], '2026-05-04')],
    ['the same dam, in other enclosures by their words', clutch(['a'], '2026-05', 'x'), clutch(['a'], '2026-05', 'y')],
    ['a candidate in common', clutch(['a', 'b'], '2026-05'), clutch(['b'], '2026-05-03')],
    [
      'one enclosure, dam certain and others possible',
      clutch(['a'], '2026-05', 'x'),
      clutch(['b', 'c'], '2026-05', 'x'),
    ],
  ])('are probably one: %s', (_, a, b) => {
    expect(isProbablySame(a, b)).toBe(true);
    expect(isProbablySame(b, a)).toBe(true);
  });

  it.each([
    ['days apart', clutch(['a'], '2026-05-01'), clutch(['a'], '2026-05-02')],
    ['two dams that are certain, in one enclosure', clutch(['a'], '2026-05', 'x'), clutch(['b'], '2026-05', 'x')],
    ['candidates in common, in two enclosures', clutch(['a', 'b'], '2026-05', 'x'), clutch(['a', 'b'], '2026-05', 'y')],
    ['nothing in common', clutch(['a', 'b'], '2026-05'), clutch(['c'], '2026-05')],
  ])('are two: %s', (_, a, b) => {
    expect(isProbablySame(a, b)).toBe(false);
    expect(isProbablySame(b, a)).toBe(false);
  });

  it('a clutch without a day was laid before it was found, and before it was recorded', () => {
    const recorded = day('2026-06-10');
    expect(layingSpan(null, day('2026-05-03'), recorded)).toEqual({ earliest: null, latest: '2026-05-03' });
    expect(layingSpan(null, null, recorded)).toEqual({ earliest: null, latest: '2026-06-10' });
    expect(layingSpan(days('2026-05-01'), day('2026-05-03'), recorded)).toMatchObject({ latest: '2026-05-01' });
  });
});

describe('merging', () => {
  const first: ClutchReport = { laid: days('2026-05'), foundOn: day('2026-05-09'), eggCount: null, enclosureId: 'x' };

  it('takes what each of them says, the narrower days and the earlier finding', () => {
    const second = { laid: days('2026-05-03'), foundOn: day('2026-05-08'), eggCount: 4, enclosureId: null };
    expect(mergeReports(first, second)).toEqual({
      report: { laid: days('2026-05-03'), foundOn: '2026-05-08', eggCount: 4, enclosureId: 'x' },
      warnings: [],
    });
  });

  it('writes the days both leave open where neither contains the other', () => {
    const second = { ...first, laid: days('2026-04-20/2026-05-04') };
    expect(mergeReports(first, second).report.laid).toEqual(days('2026-05-01/2026-05-04'));
    expect(mergeReports({ ...first, laid: days('2026-05-01/..') }, second).report.laid).toEqual(
      days('2026-05-01/2026-05-04'),
    );
  });

  it('what contradicts leaves the first report standing, and says so', () => {
    const merged = mergeReports({ ...first, eggCount: 2 }, { ...first, eggCount: 3 });
    expect(merged.report.eggCount).toBe(2);
    expect(merged.warnings.map(({ code }) => code)).toEqual(['REPORTS_DIFFER']);
  });
});
