import { describe, expect, it } from '@jest/globals';
import { importCovers, latestLastDay, permitWarnings } from '../../libs/document/core/permit-validity.core.js';
import { day } from '../../libs/kernel/index.js';

/**
 * O19. Commission Regulation (EC) No 865/2006, Annex I, instruction 2: an export permit or re-export certificate is valid
 * for at most 6 months, an import permit for at most 12, a personal ownership certificate for at most 3 years; none after its
 * last day; and an import permit does not cover a consignment whose export document was used after its last day. How a
 * month ends is not in the regulation: the day is kept, or the last day of a shorter month is taken (choice of the project).
 */
describe('O19: how long permits may be valid', () => {
  it('issued on 31 March 2026', () => {
    expect(latestLastDay('export_permit', day('2026-03-31'))).toBe('2026-09-30');
    expect(latestLastDay('re_export_certificate', day('2026-03-31'))).toBe('2026-09-30');
    expect(latestLastDay('import_permit', day('2026-03-31'))).toBe('2027-03-31');
    expect(latestLastDay('personal_ownership_certificate', day('2026-03-31'))).toBe('2029-03-31');
  });

  it('ends with February, in a leap year too, and crosses the year', () => {
    expect(latestLastDay('export_permit', day('2026-08-31'))).toBe('2027-02-28');
    expect(latestLastDay('export_permit', day('2027-08-31'))).toBe('2028-02-29');
    expect(latestLastDay('import_permit', day('2028-02-29'))).toBe('2029-02-28');
    expect(latestLastDay('export_permit', day('2026-07-15'))).toBe('2027-01-15');
  });

  it('the import permit covers a consignment only if the export document was used in time', () => {
    const importPermit = { lastDay: day('2027-03-31'), usedOn: day('2026-10-02') };
    expect(importCovers(importPermit, { lastDay: day('2026-09-30'), usedOn: day('2026-09-30') })).toBe(true);
    expect(importCovers(importPermit, { lastDay: day('2026-09-30'), usedOn: day('2026-10-01') })).toBe(false);
    expect(
      importCovers(
        { ...importPermit, usedOn: day('2027-04-01') },
        { lastDay: day('2026-09-30'), usedOn: day('2026-09-30') },
      ),
    ).toBe(false);
  });

  it('a longer validity is told, never refused, and the authority decides', () => {
    const permit = {
      permitForm: 'export_permit',
      validFrom: day('2026-03-31'),
      validUntil: day('2026-09-30'),
    } as const;
    expect(permitWarnings(permit)).toEqual([]);
    const [warning, ...more] = permitWarnings({ ...permit, validUntil: day('2026-10-01') });
    expect(more).toEqual([]);
    expect(warning?.code).toBe('VALIDITY_LONGER_THAN_MAXIMUM');
    expect(warning?.message).toContain('The licensing authority decides.');
    expect(permitWarnings({ ...permit, validUntil: null })).toHaveLength(1);
    expect(permitWarnings({ ...permit, permitForm: null, validUntil: null })).toEqual([]);
    expect(permitWarnings({ ...permit, validFrom: null })).toEqual([]);
  });
});
