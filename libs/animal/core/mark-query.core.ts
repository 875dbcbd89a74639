import type { Fate } from './fact.core.js';

/** What is said of an animal to somebody who only read its mark. */
export const MARK_REPORTS = ['none', 'stolen', 'missing', 'escaped', 'dead'] as const;
export type MarkReport = (typeof MARK_REPORTS)[number];

/** The answer about a mark: whether a record carries it, and what is reported. Nobody is named. */
export type MarkAnswer = { readonly known: boolean; readonly reported: MarkReport };

const GRAVEST: readonly MarkReport[] = ['stolen', 'missing', 'escaped'];

/** The answer from the fates of all records that carry the mark: what somebody waits for comes first; dead only where all are. */
export function answerAbout(fates: readonly Fate[]): MarkAnswer {
  if (fates.length === 0) return { known: false, reported: 'none' };
  const gravest = GRAVEST.find((report) => fates.some((fate) => fate === report));
  if (gravest !== undefined) return { known: true, reported: gravest };
  return { known: true, reported: fates.every((fate) => fate === 'dead') ? 'dead' : 'none' };
}
