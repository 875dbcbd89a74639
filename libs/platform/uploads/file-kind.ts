import { type Decision, decide, refuse } from '../../kernel/index.js';

/** Kinds of file that are kept, and the endings their names may have. */
export const FILE_ENDINGS = {
  'application/pdf': ['.pdf'],
  'image/png': ['.png'],
  'image/jpeg': ['.jpg', '.jpeg'],
  'image/webp': ['.webp'],
} as const;
export type FileMediaType = keyof typeof FILE_ENDINGS;

/** What one kind of upload takes. */
export type UploadRules = {
  readonly types: readonly FileMediaType[];
  /** The types in words, for people: `PDF, PNG and JPEG`. */
  readonly inWords: string;
  readonly maxBytes: number;
  /** What to do with a file that is too large. */
  readonly remedy: string;
};

const MAX_NAME = 120;

const accepts = (rules: UploadRules, type: string | undefined): type is FileMediaType =>
  rules.types.some((accepted) => accepted === type);

/** Content types a file may be sent as: what it is, or plain bytes. */
export function mayBeDeclared(rules: UploadRules, declared: string): boolean {
  return declared === 'application/octet-stream' || accepts(rules, declared);
}

/**
 * What a file is kept as. `declared` is the content type it was sent with, `found` what its bytes are (undefined: not
 * recognised). FILE_EMPTY, FILE_TYPE_REFUSED, FILE_TYPE_CONTRADICTED.
 */
export function decideFileKind(
  rules: UploadRules,
  declared: string,
  found: string | undefined,
  size: number,
): Decision<FileMediaType> {
  if (size === 0) return refuse('FILE_EMPTY', 'The file is empty. Choose the file again.');
  if (!mayBeDeclared(rules, declared) || !accepts(rules, found))
    return refuse('FILE_TYPE_REFUSED', `Only ${rules.inWords} files are kept here. Save or scan it as one of these.`);
  if (declared !== 'application/octet-stream' && declared !== found)
    return refuse(
      'FILE_TYPE_CONTRADICTED',
      `The file was sent as ${declared} but it is ${found}. Send it as what it is, or as application/octet-stream.`,
    );
  return decide(found);
}

/**
 * A name to keep a file under: no folders, no control or direction characters, at most 120 characters, and an ending that
 * fits the content (a PDF called `scan.jpg` becomes `scan.jpg.pdf`). `file` where nothing is left.
 */
export function cleanFileName(given: string, type: FileMediaType): string {
  const last = given.normalize('NFC').split(/[/\\]/).at(-1) ?? '';
  // Cc, Cf: control characters, and the invisible ones that can make "fdp.exe" read "exe.pdf".
  const plain = last.replace(/[\p{Cc}\p{Cf}\p{Cs}]/gu, '').replace(/^[.\s]+|[.\s]+$/g, '');
  const endings: readonly string[] = FILE_ENDINGS[type];
  const fits = endings.some((ending) => plain.toLowerCase().endsWith(ending) && plain.length > ending.length);
  const ending = fits ? plain.slice(plain.lastIndexOf('.')) : (endings[0] ?? '');
  const stem = [...(fits ? plain.slice(0, -ending.length) : plain)].slice(0, MAX_NAME - ending.length).join('');
  return `${stem === '' ? 'file' : stem}${ending}`;
}

/** Content-Disposition of a download (RFC 6266): a plain name for old readers, the full one encoded by RFC 8187. */
export function attachment(fileName: string): string {
  const plain = fileName.replace(/[^\x20-\x7e]|["\\%]/g, '_');
  const full = encodeURIComponent(fileName).replace(
    /['()*]/g,
    (sign) => `%${sign.charCodeAt(0).toString(16).toUpperCase()}`,
  );
  return `attachment; filename="${plain}"; filename*=UTF-8''${full}`;
}
