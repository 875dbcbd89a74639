import { describe, expect, it } from '@jest/globals';
import { attachment, cleanFileName, decideFileKind, type UploadRules } from './file-kind.js';

const PAPERS: UploadRules = {
  types: ['application/pdf', 'image/png', 'image/jpeg'],
  inWords: 'PDF, PNG and JPEG',
  maxBytes: 1000,
  remedy: 'Make it smaller.',
};
const ruleOf = (declared: string, found: string | undefined, size: number) => {
  const decision = decideFileKind(PAPERS, declared, found, size);
  return decision.ok ? decision.value : decision.refusal.rule;
};

describe('decideFileKind', () => {
  it.each([
    ['application/octet-stream', 'application/pdf', 9, 'application/pdf'],
    ['application/pdf', 'application/pdf', 9, 'application/pdf'],
    ['image/jpeg', 'image/jpeg', 9, 'image/jpeg'],
    ['application/pdf', undefined, 0, 'FILE_EMPTY'],
    ['application/pdf', undefined, 9, 'FILE_TYPE_REFUSED'],
    ['application/octet-stream', 'application/zip', 9, 'FILE_TYPE_REFUSED'],
    ['text/html', 'application/pdf', 9, 'FILE_TYPE_REFUSED'],
    ['image/webp', 'image/webp', 9, 'FILE_TYPE_REFUSED'],
    ['application/pdf', 'image/png', 9, 'FILE_TYPE_CONTRADICTED'],
    ['image/jpeg', 'application/pdf', 9, 'FILE_TYPE_CONTRADICTED'],
  ])('sent as %s, found %s, %i bytes: %s', (declared, found, size, expected) => {
    expect(ruleOf(declared, found, size)).toBe(expected);
  });
});

describe('cleanFileName', () => {
  it.each([
    ['permit.pdf', 'permit.pdf'],
    ['Permit.PDF', 'Permit.PDF'],
    ['../../etc/passwd', 'passwd.pdf'],
    ['C:\\papers\\scan.jpg', 'scan.jpg.pdf'],
    ['', 'file.pdf'],
    ['.pdf', 'pdf.pdf'],
    ['  .. ', 'file.pdf'],
    ['a\r\nb\u202Efdp.exe', 'abfdp.exe.pdf'],
    ['Genehmigung Müller.pdf', 'Genehmigung Müller.pdf'],
  ])('%j becomes %j', (given, kept) => {
    expect(cleanFileName(given, 'application/pdf')).toBe(kept);
  });

  it('is at most 120 characters and keeps the ending', () => {
    const name = cleanFileName(`${'x'.repeat(300)}.jpeg`, 'image/jpeg');
    expect(name).toHaveLength(120);
    expect(name.endsWith('x.jpeg')).toBe(true);
  });
});

describe('attachment', () => {
  it('gives a plain name and the full one', () => {
    expect(attachment('Über "A" (1).pdf')).toBe(
      `attachment; filename="_ber _A_ (1).pdf"; filename*=UTF-8''%C3%9Cber%20%22A%22%20%281%29.pdf`,
    );
  });
});
