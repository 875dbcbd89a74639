import { isBefore, overlaps } from '../../kernel/index.js';
import { daysApart, daysInWords, recordedNear } from './days-in-words.core.js';
import { isWildTaken } from './mating.core.js';
import type { AcquisitionManner, Rule, Weighed } from './origin-record.core.js';
import { weighToward } from './rules-mating.core.js';

const quiet = { source: null, askFirst: false } as const;
const part = 'captive_birth' as const;

const BREEDER = 'the breeder’s own record of mating, laying and hatching, or a paper of an authority';

const CAME_BY: Readonly<
  Record<Exclude<AcquisitionManner, 'wild_taken'>, { words: string; missing: readonly string[] }>
> = {
  bought: { words: 'It was bought; what the seller said of its origin is a statement.', missing: [BREEDER] },
  gift: { words: 'It was a gift; what the giver said of its origin is a statement.', missing: [BREEDER] },
  bred_here: { words: 'The keeper states that it was bred here.', missing: [] },
  confiscated: {
    words: 'It was confiscated or seized, which says nothing of where it was bred.',
    missing: ['what the authority found out about its origin'],
  },
  unknown: { words: 'How it was acquired is not known.', missing: ['how and when it was acquired'] },
};

/** How the animal itself was come by. */
export const acquisitionRule: Rule = (record) => {
  const { acquisition } = record;
  if (acquisition === null) return [];
  const factIds = [acquisition.factId];
  if (acquisition.manner !== 'wild_taken')
    return [{ part, weighs: 'silent', factIds, ...quiet, ...CAME_BY[acquisition.manner] }];
  const weighs = weighToward(record, 'wild');
  const words = `Its acquisition is recorded as taken from the wild ${daysInWords(acquisition.when)}.`;
  return [
    {
      part,
      weighs,
      words,
      factIds,
      source: null,
      askFirst: weighs === 'contradicts',
      ...(weighs === 'contradicts' ? { missing: ['which of the two is right: the claim, or the acquisition'] } : {}),
    },
  ];
};

/** Laying and hatching in the records. Alone they say nothing of where the mating was: 50 CFR 23.63; CITES Notification 1998/14. */
export const hatchingRule: Rule = (record, _bounds, mating) => {
  const { laying, hatching, dam } = record;
  if (hatching === null || laying === null) {
    return [
      {
        part,
        weighs: 'silent',
        words:
          hatching === null
            ? 'No hatching or birth from a recorded clutch is on record.'
            : 'The clutch it came from is not on record.',
        factIds: [],
        ...quiet,
        missing: ['the laying and the hatching it came from'],
      },
    ];
  }
  const factIds = [laying.factId, hatching.factId];
  if (isBefore(hatching.when, laying.when) === 'yes') {
    return [
      {
        part: 'identity',
        weighs: 'contradicts',
        words: `The hatching is recorded ${daysInWords(hatching.when)}, before the laying ${daysInWords(laying.when)}.`,
        factIds,
        source: null,
        askFirst: true,
        missing: ['which of the two days is a slip'],
      },
    ];
  }
  const provesNothing =
    dam === null || (isWildTaken(dam) && !['captive', 'captive_window_open', 'confirmed'].includes(mating.kind));
  if (provesNothing || weighToward(record, 'captivity') !== 'supports') {
    return [
      {
        part,
        weighs: 'silent',
        words: 'Laying and hatching are recorded; they do not show where the mating was.',
        factIds,
        ...quiet,
      },
    ];
  }
  const place = hatching.controlled === 'yes' ? ' in a controlled environment' : '';
  return [
    {
      part,
      weighs: 'supports',
      words: `Laying and hatching${place} are recorded, from a dam on record.`,
      factIds,
      ...quiet,
    },
  ];
};

/** Days from laying to hatching against the taxon's bounds, which warn and never decide. */
export const incubationRule: Rule = ({ laying, hatching }, { incubationDays }) => {
  if (laying === null || hatching === null || incubationDays === undefined) return [];
  if (isBefore(hatching.when, laying.when) === 'yes') return [];
  const { fewest, most } = daysApart(laying.when, hatching.when);
  const { min, max, source } = incubationDays;
  const short = min !== undefined && most !== null && most < min;
  const long = max !== undefined && fewest !== null && fewest > max;
  if (!short && !long) return [];
  return [
    {
      part,
      weighs: 'doubts',
      words: short
        ? `From laying to hatching the dates leave at most ${most} days; the shortest known for this taxon is ${min}.`
        : `From laying to hatching the dates leave at least ${fewest} days; the longest known for this taxon is ${max}.`,
      factIds: [laying.factId, hatching.factId],
      source,
      askFirst: true,
      missing: ['a second look at the days of laying and hatching'],
    },
  ];
};

/** A clutch larger than any known of the taxon. */
export const clutchSizeRule: Rule = ({ laying }, { clutchSizeMax }) => {
  const eggs = laying?.eggCount ?? null;
  if (clutchSizeMax === undefined || laying === null || eggs === null || eggs <= clutchSizeMax.value) return [];
  return [
    {
      part,
      weighs: 'doubts',
      words: `The clutch is recorded with ${eggs} eggs; the largest known of this taxon has ${clutchSizeMax.value}.`,
      factIds: [laying.factId],
      source: clutchSizeMax.source,
      askFirst: true,
      missing: ['whether the eggs of two females were counted together'],
    },
  ];
};

/** A dam younger than any that is known to lay. */
export const maturityRule: Rule = ({ laying, dam }, { maturityDays }) => {
  const birth = dam?.birth ?? null;
  if (laying === null || birth === null || maturityDays?.min === undefined) return [];
  const { most } = daysApart(birth.when, laying.when);
  if (most === null || most >= maturityDays.min) return [];
  return [
    {
      part: 'generation',
      weighs: 'doubts',
      words: `By the dates the dam was at most ${most} days old when she laid; the youngest known of this taxon was ${maturityDays.min}.`,
      factIds: [birth.factId, laying.factId],
      source: maturityDays.source,
      askFirst: true,
      missing: ['a second look at the dam’s day of birth, or at which female laid'],
    },
  ];
};

/** The parts of the record that belong to one animal: hatching and birth, clutch and parentage, tested parentage. */
export const identityRule: Rule = (record) => {
  const { hatching, birth, laying, damStatement, sireStatement, marks } = record;
  const items: Weighed[] = [];
  if (hatching !== null && birth !== null && overlaps(hatching.when, birth.when) === 'no') {
    items.push({
      part: 'identity',
      weighs: 'doubts',
      words: `The birth is recorded ${daysInWords(birth.when)}, the hatching from the clutch ${daysInWords(hatching.when)}.`,
      factIds: [birth.factId, hatching.factId],
      source: null,
      askFirst: true,
      missing: ['which of the two days is right'],
    });
  }
  const stated = damStatement?.parentId ?? null;
  const laidBy = laying?.damId ?? null;
  if (laying !== null && damStatement !== null && laidBy !== null && stated !== null && stated !== laidBy) {
    items.push({
      part: 'identity',
      weighs: 'doubts',
      words: 'The clutch names another dam than the parentage does.',
      factIds: [laying.factId, damStatement.factId],
      source: null,
      askFirst: true,
      missing: ['which of the two females is the dam'],
    });
  }
  const tested = [damStatement, sireStatement].filter((statement) => statement?.basis === 'genetic_test');
  if (tested.length > 0) {
    items.push({
      part: 'identity',
      weighs: 'supports',
      words: `Parentage is recorded from a genetic test (${tested.length === 2 ? 'both parents' : 'one parent'}).`,
      factIds: tested.flatMap((statement) => statement?.factId ?? []),
      ...quiet,
    });
  }
  const early = marks.filter((mark) => birth === null || recordedNear(mark.recordedOn, birth.when));
  if (marks.length > 0) {
    items.push({
      part: 'identity',
      weighs: 'supports',
      words: `It carries a lasting mark${early.length > 0 ? ', on record since soon after its beginning here' : ''}.`,
      factIds: marks.map((mark) => mark.factId),
      ...quiet,
    });
  }
  return items;
};
