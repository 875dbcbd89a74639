import { describe, expect, it } from '@jest/globals';
import { parseEdtf } from '../../libs/kernel/index.js';

/**
 * Outside check O17. Source: Library of Congress, Extended Date/Time Format, 2019; values from a run of the npm library
 * edtf 4.11.1, except 2021-02-29, which that library rolls over to 1 March and which is refused here.
 */
const READ: [text: string, earliest: string | null, latest: string | null, level: 0 | 1][] = [
  ['2021-05-03', '2021-05-03', '2021-05-03', 0],
  ['2021-05', '2021-05-01', '2021-05-31', 0],
  ['2021', '2021-01-01', '2021-12-31', 0],
  ['2021-05~', '2021-05-01', '2021-05-31', 1],
  ['2021-XX', '2021-01-01', '2021-12-31', 1],
  ['2021-05-XX', '2021-05-01', '2021-05-31', 1],
  ['202X', '2020-01-01', '2029-12-31', 1],
  ['2021-05/2021-07', '2021-05-01', '2021-07-31', 0],
  ['2004-06~/2006-08?', '2004-06-01', '2006-08-31', 1],
  ['2021-05-03/..', '2021-05-03', null, 1],
  ['2020-02-29', '2020-02-29', '2020-02-29', 0],
];

const REFUSED = ['2021-02-29', '2021-13', '20210503', '03.05.2021'];

describe('EDTF against outside values (O17)', () => {
  it.each(READ)('%s is %s to %s, level %i', (text, earliest, latest, level) => {
    expect(parseEdtf(text)).toMatchObject({ ok: true, value: { edtf: text, earliest, latest, level } });
  });

  it.each(REFUSED)('%s is refused, with a remedy', (text) => {
    expect(parseEdtf(text)).toMatchObject({ ok: false, remedy: expect.stringMatching(/^Write .*2021-\d\d/) });
  });
});
