import type { Day } from '../../kernel/index.js';
import { recordedNear } from './days-in-words.core.js';
import { generationInWords, generationOf } from './generation.core.js';
import type { Dated, Entry, OriginRecord, Rule, Weighed } from './origin-record.core.js';

const quiet = { source: null, askFirst: false } as const;

/** The interval of generations, as far as the parents' records carry it. */
export const generationRule: Rule = (record, _bounds, mating) => {
  const generation = generationOf(record, mating);
  return [
    {
      part: 'generation',
      weighs: generation.lowest > 0 && record.claim?.origin === 'bred' ? 'supports' : 'silent',
      words: `Records of the line: ${generationInWords(generation)}.`,
      factIds: [],
      source: 'own derivation from CITES Res. Conf. 10.16 (Rev.), from memory',
      askFirst: false,
      ...(generation.lowest === 0 && record.claim?.origin === 'bred'
        ? { missing: ['the records of both parents: their own birth, mating and acquisition'] }
        : {}),
    },
  ];
};

/** Whether the breeding stock, or the animal itself, was come by lawfully, as far as papers show it. */
export const lawfulStockRule: Rule = (record) => {
  const part = 'lawful_stock' as const;
  const parents = [record.dam, record.sire].filter((parent) => parent !== null);
  const papers = [...record.papers, ...parents.flatMap((parent) => parent.papers)];
  const covered = parents.length === 2 && parents.every((parent) => parent.papers.length > 0);
  if (covered || record.papers.length > 0) {
    return [
      {
        part,
        weighs: 'supports',
        words: covered
          ? 'Papers of an authority cover both parents.'
          : 'A paper of an authority covers the animal itself.',
        factIds: papers.map((paper) => paper.factId),
        ...quiet,
      },
    ];
  }
  const acquisitions = parents.flatMap((parent) => parent.acquisition ?? []);
  return [
    {
      part,
      weighs: 'silent',
      words:
        acquisitions.length === 0
          ? 'Nothing is recorded of how the breeding stock was acquired.'
          : 'How the breeding stock was acquired is recorded; no paper is named for it. Where the taxon was not listed on that day none was needed.',
      factIds: acquisitions.map((acquisition) => acquisition.factId),
      ...quiet,
      missing: ['papers of the breeding stock, where the taxon was listed on the day it was acquired'],
    },
  ];
};

/** Days between holders, and before the first. */
export type Chain = { readonly unbroken: boolean; readonly fromStart: boolean; readonly gaps: number };

/** The chain of holders from the animal's beginning here to today. */
export function chainOf({ held, hatching, birth, acquisition, claim }: OriginRecord): Chain {
  const began: Dated | null = claim?.origin === 'wild' ? acquisition : (hatching ?? birth);
  const periods = held.toSorted((a, b) => (a.from < b.from ? -1 : a.from > b.from ? 1 : 0));
  const first = periods[0];
  const latest = began?.when.latest ?? null;
  const fromStart = first !== undefined && latest !== null && first.from <= latest;
  let gaps = periods.filter((period) => !period.known).length;
  let end: Day | null | undefined = first?.from;
  for (const period of periods) {
    if (end !== null && end !== undefined && period.from > end) gaps += 1;
    if (end !== null) end = period.to === null || end === undefined || period.to > end ? period.to : end;
  }
  return { unbroken: periods.length > 0 && fromStart && gaps === 0, fromStart, gaps };
}

/** The chain of holders. Gaps are shown, and mean nothing by themselves. */
export const chainRule: Rule = (record) => {
  const { unbroken, fromStart, gaps } = chainOf(record);
  const part = 'identity' as const;
  if (unbroken) {
    return [
      {
        part,
        weighs: 'supports',
        words: 'Its holders are on record without a gap since its beginning.',
        factIds: [],
        ...quiet,
      },
    ];
  }
  const words = [
    ...(fromStart ? [] : ['where it was before the first entry here is not on record']),
    ...(gaps === 0 ? [] : [`${gaps === 1 ? 'one period is' : `${gaps} periods are`} without a recorded holder`]),
  ];
  return [
    {
      part,
      weighs: 'silent',
      words: `Of its holders, ${words.join(', and ')}.`,
      factIds: [],
      ...quiet,
      missing: ['who had the animal in the time that is not on record'],
    },
  ];
};

/** The entries the origin rests on, with the days they are about. */
export function bearingEntries(record: OriginRecord): readonly Dated[] {
  if (record.claim?.origin === 'wild') return record.acquisition === null ? [] : [record.acquisition];
  return [record.laying, record.hatching, ...(record.dam?.matings ?? [])].filter((entry) => entry !== null);
}

/** What was written down long after it happened: accepted, not doubted, and weaker. */
export const recordingRule: Rule = (record) => {
  const late = bearingEntries(record).filter((entry) => !recordedNear(entry.recordedOn, entry.when));
  if (late.length === 0) return [];
  return [
    {
      part: 'captive_birth',
      weighs: 'silent',
      words:
        'Part of this was entered here long after it happened, as when older notes are carried over. That is accepted and not doubted; it keeps the finding below "documented".',
      factIds: late.map((entry) => entry.factId),
      source: 'entered within 31 days counts as near the time: a choice of this registry, no published source',
      askFirst: false,
      missing: ['something from that time: the old book, dated photographs, a paper of an authority'],
    },
  ];
};

/** Entries of somebody who neither had the animal nor stands close to one who did, and papers of an authority. */
export function independentEntries(record: OriginRecord): readonly Entry[] {
  const parties = new Set(record.parties);
  const entries: (Entry | null)[] = [
    record.laying,
    record.hatching,
    record.acquisition,
    record.damStatement,
    record.sireStatement,
    ...(record.dam?.matings ?? []),
  ];
  const others = entries.filter((entry) => entry !== null && entry.keeperId !== null && !parties.has(entry.keeperId));
  return [...record.papers, ...others.filter((entry) => entry !== null)];
}

/** Whether anybody else bears the records out. */
export const witnessRule: Rule = (record): Weighed[] => {
  const independent = independentEntries(record);
  const part = 'captive_birth' as const;
  if (independent.length > 0) {
    return [
      {
        part,
        weighs: 'supports',
        words: 'At least one entry comes from an authority, or from a keeper who never had the animal.',
        factIds: independent.map((entry) => entry.factId),
        ...quiet,
      },
    ];
  }
  if (bearingEntries(record).length === 0) return [];
  return [
    {
      part,
      weighs: 'silent',
      words: 'Every entry comes from those who have or had the animal.',
      factIds: [],
      ...quiet,
      missing: ['one item from somebody else: a permit or certificate, a laboratory’s report, the owner of the sire'],
    },
  ];
};
