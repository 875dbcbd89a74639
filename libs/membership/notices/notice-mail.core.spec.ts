import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { noticeMail } from './notice-mail.core.js';

const TODAY = day('2026-06-10');
const mail = (kind: string, dueOn: string | null) =>
  noticeMail({ kind, dueOn: dueOn === null ? null : day(dueOn) }, TODAY);

describe('noticeMail', () => {
  it.each([
    ['2026-07-10', 'Kithbook: A holding document is about to lapse', '2026-07-10 (in 30 days)'],
    ['2026-06-11', 'Kithbook: A holding document is about to lapse', '2026-06-11 (in 1 day)'],
    ['2026-06-10', 'Kithbook: A holding document is about to lapse', '2026-06-10 (today)'],
    ['2026-06-09', 'Kithbook: A holding document has lapsed', '2026-06-09 (1 day ago)'],
  ])('a document that ends on %s', (dueOn, subject, when) => {
    const { subject: is, text } = mail('document_expiry', dueOn);
    expect(is).toBe(subject);
    expect(text).toContain(when);
  });

  it('every mail says where to read on and that others decide', () => {
    for (const kind of ['arrival_quarantine', 'document_expiry', 'a kind made later']) {
      for (const dueOn of ['2026-07-10', null]) {
        const { subject, text } = mail(kind, dueOn);
        expect(subject).not.toMatch(/[\r\n]/);
        expect(text).toContain('Sign in to Kithbook');
        expect(text).toContain('not legal or veterinary advice');
        expect(text).not.toContain('null');
      }
    }
  });

  it('a kind without words of its own gets general ones', () => {
    expect(mail('a kind made later', '2026-07-10').text).toContain('Due: 2026-07-10 (in 30 days)');
  });
});
