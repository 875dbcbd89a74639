import { describe, expect, it } from '@jest/globals';
import { answerAbout } from './mark-query.core.js';

describe('what is answered about a mark', () => {
  it('says what somebody waits for, the gravest first, and dead only where all are', () => {
    expect(answerAbout([])).toEqual({ known: false, reported: 'none' });
    expect(answerAbout(['alive'])).toEqual({ known: true, reported: 'none' });
    expect(answerAbout(['missing', 'stolen', 'dead'])).toEqual({ known: true, reported: 'stolen' });
    expect(answerAbout(['dead', 'alive'])).toEqual({ known: true, reported: 'none' });
    expect(answerAbout(['dead', 'dead'])).toEqual({ known: true, reported: 'dead' });
    expect(answerAbout(['escaped', 'seized'])).toEqual({ known: true, reported: 'escaped' });
    expect(answerAbout(['seized'])).toEqual({ known: true, reported: 'none' });
  });
});
