import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { EGGS_CAUTION, eggLines } from './egg-paper.core.js';
import { paperPage } from '../papers/paper-page.core.js';
import { NOT_SHOWN, type PaperEggs } from '../papers/record-paper.core.js';

const span = (earliest: string | null, latest: string | null) => ({
  earliest: earliest === null ? null : day(earliest),
  latest: latest === null ? null : day(latest),
});

const CLUTCH: PaperEggs = {
  clutchId: 'clutch',
  scientificName: 'Testudo hermanni',
  commonName: "Hermann's tortoise",
  laidEdtf: '2026-06~',
  clutchSize: 5,
  eggs: [
    { number: 1, topMarked: true, incubatedFrom: span('2026-06-02', '2026-06-04') },
    { number: 2, topMarked: false, incubatedFrom: span('2026-06-04', '2026-06-04') },
    { number: 5, topMarked: true, incubatedFrom: span('2026-06-02', '2026-06-04') },
  ],
  celsius: { lowest: 28, highest: 29.5 },
  sires: ['HJ4-K7P-QR9', NOT_SHOWN],
  dams: ['WX3-47N-MPT'],
};
const line = (label: string, changes: Partial<PaperEggs> = {}) =>
  eggLines({ ...CLUTCH, ...changes }, day('2026-06-10')).find((each) => each.label === label)?.text;

describe('eggs on paper', () => {
  it('by their numbers, with the size of the clutch and the days as they were written', () => {
    expect(line('Eggs')).toBe('eggs 1, 2, 5, of a clutch of 5');
    expect(line('Eggs', { clutchSize: null, eggs: CLUTCH.eggs.slice(0, 1) })).toBe(
      'egg 1, of a clutch that was not counted',
    );
    expect(line('Laid')).toBe('about June 2026');
  });

  it('which side is up, and of which eggs nobody recorded it', () => {
    expect(line('Side that is up')).toBe('marked on eggs 1, 5; egg 2: not recorded');
    expect(line('Side that is up', { eggs: CLUTCH.eggs.slice(1, 2) })).toBe('not marked, as far as recorded');
  });

  it('days of incubation as a range, together where they agree', () => {
    expect(line('Incubated')).toBe('eggs 1, 5: 6 to 8 days; egg 2: 6 days (on 2026-06-10)');
    const of = (incubatedFrom: PaperEggs['eggs'][number]['incubatedFrom']) =>
      line('Incubated', { eggs: [{ number: 1, topMarked: false, incubatedFrom }] });
    expect(of(null)).toBe('not recorded (on 2026-06-10)');
    expect(of(span(null, '2026-06-04'))).toBe('at least 6 days (on 2026-06-10)');
  });

  it('temperatures as they were recorded', () => {
    expect(line('Temperature')).toBe('28 to 29.5 °C, as recorded');
    expect(line('Temperature', { celsius: { lowest: 28, highest: 28 } })).toBe('28 °C, as recorded');
    expect(line('Temperature', { celsius: null })).toBe('not recorded');
  });

  it('parents are claims, without a number where they are not shown', () => {
    expect(line('Sire')).toBe('HJ4-K7P-QR9 or recorded, not shown, as claimed by the keeper’s records');
    expect(line('Dam', { dams: [] })).toBe('unknown');
  });

  it('carry the caution', () => {
    expect(line('Caution')).toBe(EGGS_CAUTION);
    expect(EGGS_CAUTION).toMatch(/can kill the embryo.*the local authority decides/);
  });
});

describe('eggs on the public page', () => {
  const now = { scientificName: 'Testudo hermanni', laidEdtf: '2026-06~', hatched: 0, cameToNothing: 0 };
  const page = (record: typeof now | null) => paperPage(day('2026-06-10'), [], [{ paper: CLUTCH, now: record }]);

  it('species, year and what became of them; no parents, temperature or days', () => {
    const html = page(now);
    for (const part of ['eggs 1, 2, 5 of a clutch', 'Hermann&#39;s tortoise', '<td>2026</td>', '<td>unchanged</td>'])
      expect(html).toContain(part);
    for (const hidden of ['WX3-47N-MPT', 'HJ4-K7P-QR9', '28', 'June']) expect(html).not.toContain(hidden);
  });

  it('says what is recorded otherwise now, and that a clutch was taken back', () => {
    const changed = page({ ...now, laidEdtf: '2026-05', hatched: 2, cameToNothing: 1 });
    expect(changed).toContain('changed since: laying');
    expect(changed).toContain('Recorded as hatched: 2; as come to nothing: 1.');
    expect(page(null)).toContain('The clutch was taken back.');
  });
});
