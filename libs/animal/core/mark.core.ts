import { parseTransponder } from '../../kernel/index.js';

/** Kinds of marks. A chip that does not follow ISO 11784 is `other_chip`; `own_number` is the number in a keeper's own book. */
export const MARK_KINDS = [
  'transponder',
  'other_chip',
  'ring',
  'tag',
  'notch',
  'photo',
  'feature',
  'own_number',
] as const;
export type MarkKind = (typeof MARK_KINDS)[number];

/** Something worth knowing that does not stop the registration. */
export type Warning = { readonly code: 'TEST_TRANSPONDER' | 'SHARED_MANUFACTURER_CODE'; readonly message: string };

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
