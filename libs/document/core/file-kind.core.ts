import { type Decision, decide, refuse } from '../../kernel/index.js';

/** The kinds of file a document takes, and the endings their names may have. */
export const FILE_ENDINGS = {
  'application/pdf': ['.pdf'],
  'image/png': ['.png'],
  'image/jpeg': ['.jpg', '.jpeg'],
} as const;
export type FileMediaType = keyof typeof FILE_ENDINGS;

/** Largest file in bytes: 10 MiB. */
export const MAX_FILE_BYTES = 10 * 1024 * 1024;
const MAX_NAME = 120;

function isAccepted(type: string | undefined): type is FileMediaType {
  return type !== undefined && type in FILE_ENDINGS;
}

/** Content types a file may be sent as: what it is, or plain bytes. */
export function mayBeDeclared(declared: string): boolean {
  return declared === 'application/octet-stream' || isAccepted(declared);
}

/**
 * What a file is kept as. `declared` is the content type it was sent with, `found` what its bytes are (undefined: not
 * recognised). FILE_EMPTY, FILE_TYPE_REFUSED, FILE_TYPE_CONTRADICTED.
 */
export function decideFileKind(declared: string, found: string | undefined, size: number): Decision<FileMediaType> {
  if (size === 0) return refuse('FILE_EMPTY', 'The file is empty. Choose the file again.');
  if (!mayBeDeclared(declared) || !isAccepted(found))
    return refuse(
      'FILE_TYPE_REFUSED',
      'Only PDF, PNG and JPEG files are kept. Save or scan the paper as one of these.',
    );
  if (declared !== 'application/octet-stream' && declared !== found)
    return refuse(
      'FILE_TYPE_CONTRADICTED',
      `The file was sent as ${declared} but it is ${found}. Send it as what it is, or as application/octet-stream.`,
    );
  return decide(found);
}

/**
 * A name to keep a file under: no folders, no control or direction characters, at most 120 characters, and an ending that
 * fits the content (a PDF called `scan.jpg` becomes `scan.jpg.pdf`). `document` where nothing is left.
 */
export function cleanFileName(given: string, type: FileMediaType): string {
  const last = given.normalize('NFC').split(/[/\\]/).at(-1) ?? '';
  // Cc, Cf: control characters, and the invisible ones that can make "fdp.exe" read "exe.pdf".
  const plain = last.replace(/[\p{Cc}\p{Cf}\p{Cs}]/gu, '').replace(/^[.\s]+|[.\s]+$/g, '');
  const endings: readonly string[] = FILE_ENDINGS[type];
  const fits = endings.some((ending) => plain.toLowerCase().endsWith(ending) && plain.length > ending.length);
  const ending = fits ? plain.slice(plain.lastIndexOf('.')) : (endings[0] ?? '');
  const stem = [...(fits ? plain.slice(0, -ending.length) : plain)].slice(0, MAX_NAME - ending.length).join('');
  return `${stem === '' ? 'document' : stem}${ending}`;
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
