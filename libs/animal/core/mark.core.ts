import { type Decision, type DaySpan, decide, isBefore, parseTransponder, refuse } from '../../kernel/index.js';
import type { When } from './fact.core.js';

/**
 * Kinds of marks. A chip that does not follow ISO 11784 is `other_chip`; `ring` is a seamless closed ring; `photo` a picture
 * somebody keeps, `photo_documentation` dated pictures of a fixed view, repeated at an interval, which are a full mark;
 * `own_number` is the number in a keeper's own book.
 */
export const MARK_KINDS = [
  'transponder',
  'other_chip',
  'ring',
  'tag',
  'notch',
  'photo',
  'photo_documentation',
  'feature',
  'own_number',
] as const;
export type MarkKind = (typeof MARK_KINDS)[number];

/** Something worth knowing that does not stop the registration. */
export type Warning = { readonly code: string; readonly message: string };

/** A mark ready to be stored, with a warning where there is one; or what is wrong with it and how to mend it. */
export type MarkCheck =
  | { readonly ok: true; readonly value: string; readonly warning: Warning | null }
  | { readonly ok: false; readonly message: string; readonly remedy: string };

/** Checks one mark as typed. Transponder numbers are held against ISO 11784 and stored as 15 digits. */
export function checkMark(kind: MarkKind, typed: string): MarkCheck {
  const value = typed.trim();
  if (value === '' || value.length > 200) {
    return {
      ok: false,
      message: 'A mark is 1 to 200 characters.',
      remedy: 'Write what stands on the mark, or describe it.',
    };
  }
  if (kind !== 'transponder') return { ok: true, value, warning: null };
  const read = parseTransponder(value);
  if (read.verdict === 'invalid') return { ok: false, message: read.message, remedy: read.remedy };
  if (read.verdict === 'test')
    return {
      ok: true,
      value: read.digits,
      warning: { code: 'TEST_TRANSPONDER', message: `${read.message} ${read.remedy}` },
    };
  const shared = read.issuer.kind === 'sharedManufacturer';
  return {
    ok: true,
    value: read.digits,
    warning: shared
      ? {
          code: 'SHARED_MANUFACTURER_CODE',
          message:
            'Code 900 is shared by several manufacturers: another animal may carry the same number. Keep a second mark or a photo.',
        }
      : null,
  };
}

/** Why a mark ended. */
export const MARK_END_CAUSES = ['failed', 'removed', 'lost', 'regrown', 'faded', 'replaced', 'other'] as const;
export type MarkEndCause = (typeof MARK_END_CAUSES)[number];

/** Kinds whose values are held against each other: two animals with one of them are looked at. */
export const CHIP_KINDS: readonly MarkKind[] = ['transponder', 'other_chip'];

/** Kinds by which somebody who found an animal may ask for it. */
export const ASKED_KINDS = ['transponder', 'other_chip', 'ring', 'tag'] as const satisfies readonly MarkKind[];

/**
 * What two readings of one mark have in common: letters and digits, in capitals. Null for a mark that is not read off a
 * number, and for a test transponder, whose number identifies nobody.
 */
export function matchValueOf(kind: MarkKind, value: string): string | null {
  if (!(ASKED_KINDS as readonly MarkKind[]).includes(kind)) return null;
  const read = value.replace(/[^0-9A-Za-z]/g, '').toUpperCase();
  if (read === '' || (kind === 'transponder' && read.startsWith('999'))) return null;
  return read;
}

/** Whether a chip number carries manufacturer code 900, under which two makers may have issued the same number. */
export function isSharedCode(matchValue: string): boolean {
  return matchValue.length === 15 && matchValue.startsWith('900');
}

/** What belongs to some kinds of marks only. */
export type MarkDetails = {
  readonly size: string | null;
  readonly fixedView: string | null;
  readonly withScale: boolean | null;
  readonly intervalDays: number | null;
};

/** Shortest and longest interval of a photo documentation, in days: one day to ten years. */
export const PHOTO_INTERVAL = { shortest: 1, longest: 3653 } as const;

/** What is wrong with the details of a mark of this kind: path, message, remedy. */
export function checkDetails(
  kind: MarkKind,
  details: MarkDetails,
): readonly { readonly path: string; readonly message: string; readonly remedy: string }[] {
  const problems: { path: string; message: string; remedy: string }[] = [];
  if (details.size !== null && kind !== 'ring')
    problems.push({ path: 'size', message: 'Only a ring has a size.', remedy: 'Leave it out.' });
  if (kind !== 'photo_documentation') {
    for (const path of ['fixedView', 'withScale', 'intervalDays'] as const) {
      if (details[path] !== null)
        problems.push({ path, message: 'This belongs to a photo documentation.', remedy: 'Leave it out.' });
    }
    return problems;
  }
  if (details.fixedView === null)
    problems.push({
      path: 'fixedView',
      message: 'A photo documentation shows the same view every time.',
      remedy: 'Name it, for example: plastron from below.',
    });
  if (details.withScale === null)
    problems.push({ path: 'withScale', message: 'Is a scale in the picture?', remedy: 'Write true or false.' });
  if (details.intervalDays === null)
    problems.push({
      path: 'intervalDays',
      message: 'A photo documentation is repeated.',
      remedy: 'Write after how many days, for example 365.',
    });
  return problems;
}

/** A mark as recorded: one version of its series. */
export type Mark = MarkDetails & {
  /** The series: what the mark is known by, through all corrections. */
  readonly id: string;
  readonly versionId: string;
  readonly animalId: string;
  readonly kind: MarkKind;
  readonly value: string;
  /** Since when it is valid; null = not known. */
  readonly when: When | null;
  /** When it ended, and why; null while it is valid. */
  readonly ended: { readonly when: When; readonly cause: MarkEndCause } | null;
  readonly recordedAt: Date;
  readonly recordedBy: string;
  readonly supersededAt: Date | null;
  /** Why this version was superseded. */
  readonly reason: string | null;
};

/** The marks that were recorded and not yet superseded at a moment (`null` = now), ended ones too. */
export function marksInForce<T extends Pick<Mark, 'recordedAt' | 'supersededAt'>>(
  marks: readonly T[],
  at: Date | null,
): T[] {
  if (at === null) return marks.filter((mark) => mark.supersededAt === null);
  return marks.filter((mark) => mark.recordedAt <= at && (mark.supersededAt === null || mark.supersededAt > at));
}

/** Of these the marks that can be read on the animal: not ended. */
export function currentMarks(marks: readonly Mark[], at: Date | null): Mark[] {
  return marksInForce(marks, at).filter((mark) => mark.ended === null);
}

/** May a mark that is valid from `from` end on these days? */
export function decideMarkEnd(from: DaySpan | null, until: DaySpan): Decision<null> {
  if (from !== null && isBefore(until, from) === 'yes')
    return refuse('MARK_ENDS_BEFORE_SET', 'By these dates the mark ended before it was set.');
  return decide(null);
}

/** Most marks in force of one animal: more is a mistake of a program. */
export const MAX_MARKS = 60;
