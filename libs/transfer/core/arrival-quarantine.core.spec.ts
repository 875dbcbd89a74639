import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { arrivalQuarantine, type ReceivedItem } from './arrival-quarantine.core.js';

const arrived = day('2026-03-01');

function item(change: Partial<ReceivedItem> = {}): ReceivedItem {
  return {
    registerNumber: 'AAAAAAAA1',
    scientificName: 'Dendrobates auratus',
    quarantineDays: 60,
    quarantineSource: 'practice of amphibian keepers',
    arrivals: [{ state: 'well', count: 1 }],
    ...change,
  };
}

describe('arrivalQuarantine', () => {
  it('ends the days of the taxon after the arrival', () => {
    expect(arrivalQuarantine(arrived, [item()])).toEqual({
      registerNumbers: ['AAAAAAAA1'],
      days: 60,
      dueOn: '2026-04-30',
      longestFor: 'Dendrobates auratus',
      source: 'practice of amphibian keepers',
    });
  });

  it('takes the longest rule for all that arrived together, with its source', () => {
    const python = item({
      registerNumber: 'BBBBBBBB2',
      scientificName: 'Morelia viridis',
      quarantineDays: 90,
      quarantineSource: 'practice of snake keepers',
    });
    expect(arrivalQuarantine(arrived, [python, item()])).toEqual({
      registerNumbers: ['AAAAAAAA1', 'BBBBBBBB2'],
      days: 90,
      dueOn: '2026-05-30',
      longestFor: 'Morelia viridis',
      source: 'practice of snake keepers',
    });
  });

  it('leaves out the dead, the missing and the refused, and their rules', () => {
    const gone = (['dead', 'missing', 'refused'] as const).map((state, index) =>
      item({ registerNumber: `CCCCCCCC${index}`, quarantineDays: 120, arrivals: [{ state, count: 1 }] }),
    );
    const quarantine = arrivalQuarantine(arrived, [...gone, item()]);
    expect(quarantine?.registerNumbers).toEqual(['AAAAAAAA1']);
    expect(quarantine?.days).toBe(60);
  });

  it('keeps a lot of which some arrived alive, and the ill, and those not as described', () => {
    const lot = item({
      registerNumber: 'DDDDDDDD3',
      arrivals: [
        { state: 'dead', count: 1 },
        { state: 'well', count: 11 },
      ],
    });
    const ill = item({ registerNumber: 'EEEEEEEE4', arrivals: [{ state: 'ill', count: 1 }] });
    const other = item({ registerNumber: 'FFFFFFFF5', arrivals: [{ state: 'not_as_described', count: 1 }] });
    expect(arrivalQuarantine(arrived, [lot, ill, other])?.registerNumbers).toEqual([
      'DDDDDDDD3',
      'EEEEEEEE4',
      'FFFFFFFF5',
    ]);
  });

  it('names the first taxon in alphabetical order between equal rules, whatever the order of the items', () => {
    const one = item({ scientificName: 'Correlophus ciliatus', quarantineSource: 'practice of gecko keepers' });
    expect(arrivalQuarantine(arrived, [item(), one])?.longestFor).toBe('Correlophus ciliatus');
    expect(arrivalQuarantine(arrived, [one, item()])?.longestFor).toBe('Correlophus ciliatus');
  });

  it('is nothing when no animal arrived alive', () => {
    expect(
      arrivalQuarantine(arrived, [
        item({
          arrivals: [
            { state: 'dead', count: 1 },
            { state: 'well', count: 0 },
          ],
        }),
      ]),
    ).toBeNull();
    expect(arrivalQuarantine(arrived, [])).toBeNull();
  });
});
