import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { originFinding } from './origin-finding.core.js';
import {
  acquired,
  BOUNDS,
  BRED_HERE,
  claim,
  entry,
  hatched,
  held,
  laid,
  mated,
  parent,
  record,
  WILD_DAM,
} from './origin-fixtures.js';
import type { OriginRecord, TaxonBounds } from './origin-record.core.js';

function finding(more: Partial<OriginRecord>, bounds: TaxonBounds = BOUNDS) {
  return originFinding(record(more), bounds);
}

function itemsThat(found: ReturnType<typeof finding>, weighs: string) {
  return found.items.filter((item) => item.weighs === weighs);
}

const PAPER = { factId: 'certificate', keeperId: 'keeper-breeder', recordedOn: day('2025-05-10') };

describe('given nothing but a claim', () => {
  it.each(['bred', 'wild', 'ranched', 'unknown'] as const)('claimed %s: stated only, nothing doubted', (origin) => {
    const found = finding({ claim: claim(origin) });
    expect(found).toMatchObject({
      claim: origin,
      verdict: 'stated_only',
      askFirst: false,
      generation: { lowest: 0, highest: null },
    });
    expect(itemsThat(found, 'doubts')).toEqual([]);
    expect(itemsThat(found, 'contradicts')).toEqual([]);
  });

  it('nothing at all: stated only', () => {
    expect(finding({})).toMatchObject({ claim: 'unknown', verdict: 'stated_only', askFirst: false });
  });
});

describe('wild-caught dam laid 9 days after arrival', () => {
  const young = {
    claim: claim('bred'),
    laying: laid('2024-01-19'),
    hatching: hatched('2024-03-25'),
    held: [held('2024-03-25')],
  };

  it('contradicts captive breeding, with the bound and its source in words and a genetic test as what would help', () => {
    const found = finding({ ...young, dam: WILD_DAM });
    expect(found).toMatchObject({ verdict: 'contradicted', askFirst: false, generation: { lowest: 0, highest: 0 } });
    const [item, ...more] = itemsThat(found, 'contradicts');
    expect(more).toEqual([]);
    expect(item).toMatchObject({
      part: 'captive_birth',
      factIds: ['dam acquisition', 'laying'],
      source: expect.stringContaining('invented bound of 20 days'),
    });
    expect(item?.words).toContain('2024-01-10');
    expect(item?.words).toContain('20 days');
    expect(found.missing).toContain('a genetic test of the dam, the young and the males she was with');
    expect(found.source).toMatchObject({ begun: 'mated_outside', ranched: 'unknown' });
  });

  it('also when a mating in captivity is recorded between arrival and laying: it came too late', () => {
    const found = finding({ ...young, dam: { ...WILD_DAM, matings: [mated('2024-01-12')] } });
    expect(found.verdict).toBe('contradicted');
    expect(itemsThat(found, 'contradicts')[0]?.words).toContain('2024-01-12');
  });

  it('claimed wild instead: the same records support it', () => {
    const found = finding({ ...young, claim: claim('wild'), dam: WILD_DAM });
    expect(found.verdict).not.toBe('contradicted');
    expect(itemsThat(found, 'supports')[0]?.factIds).toEqual(['dam acquisition', 'laying']);
  });

  it('without a bound in the profile the rule is silent', () => {
    const without = { ...BOUNDS, matingToLayingMinDays: undefined };
    const found = finding({ ...young, dam: WILD_DAM }, without);
    expect(found.verdict).toBe('stated_only');
    expect(itemsThat(found, 'contradicts')).toEqual([]);
  });

  it('on the exact last day that is too early it contradicts, a day later it does not', () => {
    expect(finding({ ...young, laying: laid('2024-01-29'), dam: WILD_DAM }).verdict).toBe('contradicted');
    expect(finding({ ...young, laying: laid('2024-01-30'), dam: WILD_DAM }).verdict).toBe('stated_only');
  });

  it('uncertain dates doubt at most', () => {
    const found = finding({ ...young, laying: laid('2024-01'), dam: WILD_DAM });
    expect(found).toMatchObject({ verdict: 'stated_only', askFirst: true });
    expect(itemsThat(found, 'doubts')).toHaveLength(1);
  });

  it('a day of arrival that is not known contradicts nothing', () => {
    const dam = parent('dam', { acquisition: acquired('wild_taken', '../2024-01-10') });
    expect(finding({ ...young, dam }).verdict).not.toBe('contradicted');
  });

  it('laid before the dam was taken contradicts without any bound, and may be a slip', () => {
    const found = finding({ ...young, laying: laid('2024-01-05'), dam: WILD_DAM }, {});
    expect(found).toMatchObject({ verdict: 'contradicted', askFirst: true });
  });

  it('a mating written down too late while an earlier one was possible is asked about first', () => {
    const dam = { ...WILD_DAM, matings: [mated('2024-06-01')] };
    const found = finding({ ...young, laying: laid('2024-06-05'), hatching: hatched('2024-08-10'), dam });
    expect(found).toMatchObject({ verdict: 'contradicted', askFirst: true });
    expect(found.missing).toContain('any earlier mating in captivity that was not written down');
  });

  it('genetic test: confirmed paternity outweighs the interval', () => {
    const sireStatement = {
      factId: 'sire',
      keeperId: null,
      recordedOn: day('2024-05-01'),
      basis: 'genetic_test' as const,
      parentId: 'sire',
    };
    const found = finding({ ...young, dam: { ...WILD_DAM, matings: [mated('2024-01-12')] }, sireStatement });
    expect(found).toMatchObject({ verdict: 'consistent', generation: { lowest: 1, highest: 1 } });
    expect(itemsThat(found, 'contradicts')).toEqual([]);
  });
});

describe('bred here with stored-sperm window open', () => {
  const dam = { ...WILD_DAM, matings: [mated('2024-05-01')] };
  const young = {
    ...BRED_HERE,
    laying: laid('2024-06-10'),
    hatching: hatched('2024-08-20'),
    birth: entry('birth', '2024-08-20'),
    held: [held('2024-08-20')],
  };

  it('supports captivity and names a genetic test; the lowest generation stays 0', () => {
    const found = finding({ ...young, dam });
    expect(found).toMatchObject({ verdict: 'consistent', askFirst: false, generation: { lowest: 0, highest: 1 } });
    expect(found.missing).toContain('a genetic test of the dam, the young and the males she was with');
  });

  it('is not documented even with a paper, while the window is open', () => {
    expect(finding({ ...young, dam, papers: [PAPER] }).verdict).toBe('consistent');
  });

  it('after the window has closed the first generation is shown', () => {
    const later = {
      ...young,
      laying: laid('2026-01-02'),
      hatching: hatched('2026-03-10'),
      birth: null,
      held: [held('2026-03-10')],
    };
    const found = finding({ ...later, dam: { ...WILD_DAM, matings: [mated('2025-12-01')] }, papers: [PAPER] });
    expect(found).toMatchObject({ verdict: 'documented', generation: { lowest: 1, highest: 1 }, missing: [] });
  });
});

describe('bred here, written down at the time', () => {
  it('without anybody else to bear it out: consistent, and what is missing is named', () => {
    const found = finding(BRED_HERE);
    expect(found).toMatchObject({ verdict: 'consistent', askFirst: false });
    expect(found.missing.join(' ')).toContain('one item from somebody else');
  });

  it('with a certificate of an authority: documented', () => {
    expect(finding({ ...BRED_HERE, papers: [PAPER] })).toMatchObject({ verdict: 'documented', missing: [] });
  });

  it('with the mating recorded by a keeper who never had the animal: documented', () => {
    const dam = parent('dam', { matings: [mated('2025-01-20', { keeperId: 'keeper-of-the-sire' })] });
    expect(finding({ ...BRED_HERE, dam }).verdict).toBe('documented');
  });

  it('with the mating recorded by somebody connected: still consistent', () => {
    const dam = parent('dam', { matings: [mated('2025-01-20', { keeperId: 'keeper-of-the-sire' })] });
    expect(finding({ ...BRED_HERE, dam, parties: ['keeper-breeder', 'keeper-of-the-sire'] }).verdict).toBe(
      'consistent',
    );
  });

  it('carried over from an older book: consistent at most, and not doubted', () => {
    const dam = parent('dam', { matings: [mated('2019-01-20', { recordedOn: day('2026-01-01') })] });
    const found = finding({
      ...BRED_HERE,
      dam,
      laying: laid('2019-03-01', { recordedOn: day('2026-01-01') }),
      hatching: hatched('2019-05-01', '2026-01-01'),
      birth: entry('birth', '2019-05-01', '2026-01-01'),
      held: [held('2019-05-01', null, '2026-01-01')],
      papers: [PAPER],
    });
    expect(found).toMatchObject({ verdict: 'consistent', askFirst: false });
    expect(itemsThat(found, 'doubts')).toEqual([]);
    expect(found.items.find((item) => item.words.includes('older notes'))?.weighs).toBe('silent');
  });

  it('a gap between holders keeps it below documented and doubts nothing', () => {
    const found = finding({
      ...BRED_HERE,
      papers: [PAPER],
      held: [held('2025-05-01', '2025-08-01'), held('2025-09-01')],
    });
    expect(found.verdict).toBe('consistent');
    expect(itemsThat(found, 'doubts')).toEqual([]);
    expect(found.missing).toContain('who had the animal in the time that is not on record');
  });

  it('the enclosure of the dam on that day says whether it was a controlled environment', () => {
    const matings = [mated('2025-01-20', { controlled: 'unknown' })];
    const stay = { from: day('2025-01-01'), to: null, controlled: 'yes' as const };
    expect(finding({ ...BRED_HERE, papers: [PAPER], dam: parent('dam', { matings }) }).verdict).toBe('consistent');
    expect(finding({ ...BRED_HERE, papers: [PAPER], dam: parent('dam', { matings, stays: [stay] }) }).verdict).toBe(
      'documented',
    );
  });

  it('a mating outside a controlled environment contradicts, and is asked about first', () => {
    const dam = parent('dam', { matings: [mated('2025-01-20', { controlled: 'no' })] });
    expect(finding({ ...BRED_HERE, dam })).toMatchObject({
      verdict: 'contradicted',
      askFirst: true,
      generation: { lowest: 0, highest: 0 },
    });
  });
});

describe('honest keeper with gaps', () => {
  it('clutch found, young hatched, mating not seen: consistent, nothing doubted, what would help is named', () => {
    const found = finding({
      claim: claim('bred'),
      laying: laid('2025-03', { controlled: 'unknown' }),
      hatching: hatched('2025-05~'),
      held: [held('2025-05-20')],
      dam: parent('dam', { acquisition: acquired('bought', '2020~') }),
    });
    expect(found).toMatchObject({ verdict: 'consistent', askFirst: false });
    expect(itemsThat(found, 'doubts')).toEqual([]);
    expect(found.missing.length).toBeGreaterThan(0);
    expect(found.source.begun).toBe('not_shown');
  });
});

describe("purchased on the seller's word", () => {
  it('stays stated only, and asks for the breeder’s record', () => {
    const found = finding({
      claim: claim('bred', true),
      acquisition: acquired('bought', '2025-08-01'),
      held: [held('2025-08-01')],
    });
    expect(found).toMatchObject({ verdict: 'stated_only', askFirst: false });
    expect(found.missing.join(' ')).toContain('the breeder’s own record');
  });

  it('a paper of an authority alone shows no captive birth', () => {
    expect(
      finding({ claim: claim('bred', true), acquisition: acquired('bought', '2025-08-01'), papers: [PAPER] }).verdict,
    ).toBe('stated_only');
  });
});

describe('an animal taken from the wild', () => {
  const wild = { acquisition: acquired('wild_taken', '2023-05-01'), held: [held('2023-05-01')] };

  it('claimed wild: consistent; with a paper and an unbroken chain documented', () => {
    expect(finding({ ...wild, claim: claim('wild') }).verdict).toBe('consistent');
    expect(finding({ ...wild, claim: claim('wild'), papers: [PAPER] })).toMatchObject({
      verdict: 'documented',
      generation: { lowest: 0, highest: 0 },
    });
  });

  it('claimed bred: contradicted by its own record, asked first', () => {
    expect(finding({ ...wild, claim: claim('bred') })).toMatchObject({ verdict: 'contradicted', askFirst: true });
  });

  it('confiscated: says nothing of its breeding, and the code is I', () => {
    expect(finding({ claim: claim('bred'), acquisition: acquired('confiscated', '2023') })).toMatchObject({
      verdict: 'stated_only',
      source: { seized: true },
    });
  });
});

describe('bounds of the biology warn and never contradict', () => {
  it.each([
    [
      'hatched too soon',
      { laying: laid('2025-04-01'), dam: parent('dam', { matings: [mated('2025-02-01')] }) },
      'invented bounds of 50 to 100 days',
    ],
    [
      'hatched too late',
      { laying: laid('2025-01-01'), dam: parent('dam', { matings: [mated('2024-12-01')] }) },
      'invented bounds of 50 to 100 days',
    ],
    ['too many eggs', { laying: laid('2025-03-01', { eggCount: 9 }) }, 'invented bound of 6 eggs'],
    [
      'a dam too young',
      { dam: parent('dam', { matings: [mated('2025-01-20')], birth: entry('dam birth', '2024-10-01') }) },
      'invented bound of 300 days',
    ],
  ])('%s doubts, asks first and names its source', (_, more, source) => {
    const found = finding({ ...BRED_HERE, ...more, papers: [PAPER] });
    expect(found).toMatchObject({ verdict: 'consistent', askFirst: true });
    expect(itemsThat(found, 'doubts').map((item) => item.source)).toEqual([source]);
    expect(finding({ ...BRED_HERE, ...more, papers: [PAPER] }, {}).askFirst).toBe(false);
  });

  it('a month instead of a day leaves it open, and nothing is doubted', () => {
    expect(finding({ ...BRED_HERE, laying: laid('2025-03'), hatching: hatched('2025-05') }).askFirst).toBe(false);
  });
});

describe('conflicts that may be a slip', () => {
  it('hatched before laid', () => {
    expect(finding({ ...BRED_HERE, laying: laid('2025-06-01') })).toMatchObject({
      verdict: 'contradicted',
      askFirst: true,
    });
  });

  it('another dam in the parentage than in the clutch', () => {
    const damStatement = {
      factId: 'dam claim',
      keeperId: null,
      recordedOn: day('2025-05-01'),
      basis: 'declared' as const,
      parentId: 'another',
    };
    expect(finding({ ...BRED_HERE, damStatement })).toMatchObject({ verdict: 'consistent', askFirst: true });
  });
});

it('no word accuses, whatever is found', () => {
  const cases = [
    finding({ claim: claim('bred'), laying: laid('2024-01-19'), dam: WILD_DAM }),
    finding({ ...BRED_HERE, laying: laid('2025-06-01') }),
    finding({ claim: claim('bred'), acquisition: acquired('wild_taken', '2023') }),
  ];
  const words = cases.flatMap((found) => [...found.items.map((item) => item.words), ...found.missing]).join(' ');
  expect(words).not.toMatch(/\b(fals|fraud|lie[sd]?\b|forg|cheat|launder|suspic|illegal|wrong)/i);
});
