import { type Day, type DaySpan, overlaps } from '../../kernel/index.js';
import { type BreedingWarning } from './bounds.core.js';

/** When something happened, as written and as the span it can be. */
export type WrittenDays = { readonly edtf: string; readonly earliest: Day | null; readonly latest: Day | null };

/** A clutch as far as it can be told from another. */
export type ClutchLikeness = {
  readonly id: string;
  /** The dam, or every animal that can be. */
  readonly damIds: readonly string[];
  readonly enclosureId: string | null;
  readonly laid: DaySpan;
};

/** The days of laying with what the finding and the recording add: it was laid before both. */
export function layingSpan(laid: DaySpan | null, foundOn: Day | null, recordedOn: Day): DaySpan {
  const earliest = laid?.earliest ?? null;
  const latest = laid?.latest ?? foundOn ?? recordedOn;
  return { earliest, latest: earliest !== null && latest < earliest ? earliest : latest };
}

/**
 * Are these two probably one clutch that two people wrote down? Their days must leave it open, and a possible dam must be
 * common to both, or the enclosure. Two certain dams that differ are two clutches: whoever tells dams apart knows it; and so
 * are two enclosures.
 */
export function isProbablySame(a: ClutchLikeness, b: ClutchLikeness): boolean {
  if (overlaps(a.laid, b.laid) === 'no') return false;
  const commonDam = a.damIds.some((id) => b.damIds.includes(id));
  const oneDam = a.damIds.length === 1 && b.damIds.length === 1;
  if (oneDam) return commonDam;
  if (a.enclosureId !== null && b.enclosureId !== null) return a.enclosureId === b.enclosureId;
  return commonDam;
}

/** What a clutch says, as far as a second report can add to it. */
export type ClutchReport = {
  readonly laid: WrittenDays | null;
  readonly foundOn: Day | null;
  readonly eggCount: number | null;
  readonly enclosureId: string | null;
};

/**
 * One clutch from two reports: what only one of them says, the days both leave open (the narrower text where one contains the
 * other), the earlier finding. Where they contradict each other the first report stands, with a warning.
 */
export function mergeReports(
  first: ClutchReport,
  second: ClutchReport,
): { readonly report: ClutchReport; readonly warnings: readonly BreedingWarning[] } {
  const laid = narrower(first.laid, second.laid);
  const found = [first.foundOn, second.foundOn].filter((day) => day !== null).toSorted()[0] ?? null;
  const differ = <T>(a: T | null, b: T | null) => a !== null && b !== null && a !== b;
  const apart = differ(first.eggCount, second.eggCount) || differ(first.enclosureId, second.enclosureId) || laid.apart;
  return {
    report: {
      laid: laid.days,
      foundOn: found,
      eggCount: first.eggCount ?? second.eggCount,
      enclosureId: first.enclosureId ?? second.enclosureId,
    },
    warnings: apart
      ? [
          {
            code: 'REPORTS_DIFFER',
            message:
              'The two reports differ in number, place or days; what was recorded first stands. Correct it if the second is right.',
          },
        ]
      : [],
  };
}

function narrower(a: WrittenDays | null, b: WrittenDays | null): { days: WrittenDays | null; apart: boolean } {
  if (a === null || b === null) return { days: a ?? b, apart: false };
  if (overlaps(a, b) === 'no') return { days: a, apart: true };
  const earliest = a.earliest === null || (b.earliest !== null && b.earliest > a.earliest) ? b.earliest : a.earliest;
  const latest = a.latest === null || (b.latest !== null && b.latest < a.latest) ? b.latest : a.latest;
  for (const days of [a, b]) if (days.earliest === earliest && days.latest === latest) return { days, apart: false };
  return {
    days: { edtf: earliest === latest ? `${earliest}` : `${earliest ?? '..'}/${latest ?? '..'}`, earliest, latest },
    apart: false,
  };
}
