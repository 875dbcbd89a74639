import { type Day, daysInMonth, day } from '../../kernel/index.js';

export const PERMIT_FORMS = [
  'export_permit',
  're_export_certificate',
  'import_permit',
  'personal_ownership_certificate',
] as const;
export type PermitForm = (typeof PERMIT_FORMS)[number];

/** Longest validity in months: Commission Regulation (EC) No 865/2006, Annex I, instruction 2; three years for personal ownership. */
export const LONGEST_MONTHS: Readonly<Record<PermitForm, number>> = {
  export_permit: 6,
  re_export_certificate: 6,
  import_permit: 12,
  personal_ownership_certificate: 36,
};

/**
 * Latest last day of a permit issued on `issued`. The same day of the month so many months later, and the month's last day
 * where it is shorter: the regulation does not say how months end, this is a choice of the project.
 */
export function latestLastDay(form: PermitForm, issued: Day): Day {
  const [year = 0, month = 0, dayOfMonth = 0] = issued.split('-').map(Number);
  const months = year * 12 + (month - 1) + LONGEST_MONTHS[form];
  const [toYear, toMonth] = [Math.floor(months / 12), (months % 12) + 1];
  const toDay = Math.min(dayOfMonth, daysInMonth(toYear, toMonth));
  return day(
    [String(toYear).padStart(4, '0'), ...[toMonth, toDay].map((part) => String(part).padStart(2, '0'))].join('-'),
  );
}

/**
 * Whether an import permit covers a consignment, as far as days can say. It does not where the export document was used
 * after its last valid day (Annex I of the same regulation), nor where the import permit itself was.
 */
export function importCovers(
  importPermit: { readonly lastDay: Day; readonly usedOn: Day },
  exportDocument: { readonly lastDay: Day; readonly usedOn: Day },
): boolean {
  return exportDocument.usedOn <= exportDocument.lastDay && importPermit.usedOn <= importPermit.lastDay;
}

/** Something worth knowing about a document that was recorded as it is. */
export type DocumentWarning = { readonly code: string; readonly message: string };

const NAMES: Readonly<Record<PermitForm, string>> = {
  export_permit: 'an export permit',
  re_export_certificate: 'a re-export certificate',
  import_permit: 'an import permit',
  personal_ownership_certificate: 'a personal ownership certificate',
};

/** Warns where a recorded validity is longer than the longest; never refuses, because the paper says what it says. */
export function permitWarnings(permit: {
  readonly permitForm: PermitForm | null;
  readonly validFrom: Day | null;
  readonly validUntil: Day | null;
}): DocumentWarning[] {
  const { permitForm, validFrom, validUntil } = permit;
  if (permitForm === null || validFrom === null) return [];
  const latest = latestLastDay(permitForm, validFrom);
  if (validUntil !== null && validUntil <= latest) return [];
  const message =
    `Regulation (EC) No 865/2006, Annex I, lets ${NAMES[permitForm]} be valid for at most ${LONGEST_MONTHS[permitForm]} months: ` +
    `from ${validFrom} to ${latest}. Recorded is ${validUntil === null ? 'no end' : validUntil}. ` +
    'Check the paper; where another law applies it may differ. The licensing authority decides.';
  return [{ code: 'VALIDITY_LONGER_THAN_MAXIMUM', message }];
}
