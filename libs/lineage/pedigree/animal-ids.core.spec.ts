import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { v7 as uuid } from 'uuid';
import { IdTable } from './animal-ids.core.js';

describe('IdTable', () => {
  it('keeps every id at the place it came in, however often it grew', () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.uuid(), { maxLength: 200 }), fc.nat(20), (ids, room) => {
        const table = IdTable.withRoom(room);
        for (const [place, id] of ids.entries()) expect(table.add(id)).toBe(place);
        for (const [place, id] of ids.entries()) {
          expect(table.add(id)).toBe(place);
          expect(table.placeOf(id)).toBe(place);
          expect(table.placeOf(id.toUpperCase())).toBe(place);
          expect(table.idAt(place)).toBe(id);
        }
        expect(table.size).toBe(ids.length);
        expect(IdTable.of(table.parts).placeOf(ids[0] ?? '')).toBe(ids.length === 0 ? -1 : 0);
      }),
    );
  });

  it('finds neither an id that was not added nor what is no id', () => {
    const table = IdTable.withRoom(4);
    const id = uuid();
    table.add(id);
    const strays = [
      uuid(),
      '',
      'x',
      id.slice(1),
      `${id}0`,
      id.replace('-', '0'),
      id.replace(/^./, 'g'),
      ':'.repeat(36),
    ];
    for (const stray of strays) expect(table.placeOf(stray)).toBe(-1);
    expect(() => table.add('x')).toThrow(RangeError);
  });

  it('holds 100,000 ids made one after another without long searches', () => {
    const ids = Array.from({ length: 100_000 }, () => uuid());
    const table = IdTable.withRoom(ids.length);
    const started = performance.now();
    for (const id of ids) table.add(id);
    for (const [place, id] of ids.entries()) if (table.placeOf(id) !== place) throw new Error(`${id} is lost`);
    // Clustered slots would take minutes; a busy machine stays far below this.
    expect(performance.now() - started).toBeLessThan(5_000);
  });
});
