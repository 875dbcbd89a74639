import { daysInWords } from './days-in-words.core.js';
import { isWildTaken } from './mating.core.js';
import type {
  MatingFinding,
  OriginClaim,
  OriginRecord,
  Rule,
  TaxonBounds,
  Weighed,
  Weight,
} from './origin-record.core.js';

/** What speaks for captivity, or for the wild, does to each claim. */
const TOWARD = {
  captivity: { bred: 'supports', wild: 'contradicts', ranched: 'doubts', unknown: 'silent' },
  wild: { bred: 'contradicts', wild: 'supports', ranched: 'supports', unknown: 'silent' },
} as const satisfies Record<string, Record<OriginClaim, Weight>>;

/** How a finding toward captivity or the wild weighs for the claim as made. */
export function weighToward(record: OriginRecord, direction: keyof typeof TOWARD): Weight {
  return TOWARD[direction][record.claim?.origin ?? 'unknown'];
}

const TEST = 'a genetic test of the dam, the young and the males she was with';
const MATING = 'the day or days of the mating, who was with her, and whether that was in a controlled environment';

const part = 'captive_birth' as const;
const NOTIFICATION = 'CITES Notification 1998/14';

/** The mating decides, not the day of hatching: 50 CFR 23.63; CITES Notification 1998/14. */
export const matingRule: Rule = (record, bounds, mating) => {
  if (record.dam === null) return damUnknown(record);
  const said = SAYINGS[mating.kind](record, mating, bounds);
  return [{ part, source: null, askFirst: false, factIds: mating.used.map((fact) => fact.factId), ...said }];
};

function damUnknown(record: OriginRecord): Weighed[] {
  if (record.hatching === null && record.laying === null) return [];
  return [
    {
      part,
      weighs: 'silent',
      words: 'The dam is not known for certain, so the mating cannot be looked at.',
      factIds: [],
      source: null,
      askFirst: false,
      missing: ['who the dam is, or which females it could be'],
    },
  ];
}

type Saying = Pick<Weighed, 'weighs' | 'words'> & Partial<Pick<Weighed, 'source' | 'askFirst' | 'missing'>>;

const SAYINGS: Readonly<
  Record<MatingFinding['kind'], (record: OriginRecord, mating: MatingFinding, bounds: TaxonBounds) => Saying>
> = {
  before_capture: (record) => {
    const weighs = weighToward(record, 'wild');
    return {
      weighs,
      words: `The eggs were laid ${laid(record)}, before the dam was taken from the wild ${taken(record)}. By these dates the mating was in the wild.`,
      source: NOTIFICATION,
      askFirst: weighs === 'contradicts',
      missing: ['a second look at the day of laying and at the day the dam arrived'],
    };
  },
  too_early: (record, mating, bounds) => ({
    weighs: weighToward(record, 'wild'),
    words:
      `The dam was taken from the wild ${taken(record)} and laid ${laid(record)}${matedSince(mating, record)}. From mating to laying ` +
      `this taxon takes at least ${bounds.matingToLayingMinDays?.value} days, so by these dates ${mating.slipPossible ? 'none of the matings recorded' : 'no mating'} in captivity can have produced the eggs.`,
    source: `${bounds.matingToLayingMinDays?.source}; ${NOTIFICATION}`,
    askFirst: mating.slipPossible,
    missing: [TEST, ...(mating.slipPossible ? ['any earlier mating in captivity that was not written down'] : [])],
  }),
  perhaps_too_early: (record, _mating, bounds) => ({
    weighs: record.claim?.origin === 'bred' ? 'doubts' : 'silent',
    words:
      `The dam was taken from the wild ${taken(record)} and laid ${laid(record)}. The dates leave open whether the ` +
      `${bounds.matingToLayingMinDays?.value} days this taxon takes at least from mating to laying had passed.`,
    source: bounds.matingToLayingMinDays?.source ?? null,
    askFirst: true,
    missing: ['closer dates of the dam’s arrival, of the mating and of the laying', TEST],
  }),
  outside: (record) => {
    const weighs = weighToward(record, 'wild');
    return {
      weighs,
      words: 'Every mating recorded that could have led to this birth was outside a controlled environment.',
      source: NOTIFICATION,
      askFirst: weighs === 'contradicts',
      missing: ['whether the place of the mating kept animals, eggs and gametes in and out'],
    };
  },
  confirmed: (record, { controlled }) => ({
    weighs: weighToward(record, 'captivity'),
    words:
      'A genetic test confirms the sire. That outweighs what the usual intervals between mating and laying would suggest.' +
      (controlled === 'yes' ? ' The mating recorded was in a controlled environment.' : ''),
    source: 'genetic test named in the records',
    ...(controlled === 'yes' ? {} : { missing: [MATING] }),
  }),
  captive: (record) => ({
    weighs: weighToward(record, 'captivity'),
    words: 'The mating is recorded in a controlled environment, at a time that fits the laying.',
    askFirst: weighToward(record, 'captivity') === 'contradicts',
  }),
  captive_window_open: (record, _mating, bounds) => ({
    weighs: weighToward(record, 'captivity'),
    words:
      'A mating in captivity is recorded at a time that fits. ' +
      (bounds.spermStorageMaxDays === undefined
        ? 'The dam came from the wild, and how long this taxon keeps sperm is not known here.'
        : `The dam came from the wild, and females of this taxon can keep sperm for up to ${bounds.spermStorageMaxDays.value} days, which had not passed.`),
    source: bounds.spermStorageMaxDays?.source ?? null,
    askFirst: weighToward(record, 'captivity') === 'contradicts',
    missing: [TEST],
  }),
  place_unknown: () => ({
    weighs: 'silent',
    words: 'A mating is recorded at a time that fits; whether it was in a controlled environment is not said.',
    missing: ['whether the mating was in a controlled environment'],
  }),
  not_recorded: (record) => ({
    weighs: 'silent',
    words: 'No mating is recorded that could have led to this birth.',
    missing: [MATING, ...(record.dam !== null && isWildTaken(record.dam) ? [TEST] : [])],
  }),
};

function laid(record: OriginRecord): string {
  return daysInWords(record.laying?.when ?? { earliest: null, latest: null });
}

function taken(record: OriginRecord): string {
  return daysInWords(record.dam?.acquisition?.when ?? { earliest: null, latest: null });
}

function matedSince(mating: MatingFinding, record: OriginRecord): string {
  const known = new Set([record.laying?.factId, record.dam?.acquisition?.factId]);
  const matings = mating.used.filter((fact) => !known.has(fact.factId));
  return matings.length === 0
    ? ''
    : `; the matings recorded since were ${matings.map((fact) => daysInWords(fact.when)).join(', ')}`;
}
