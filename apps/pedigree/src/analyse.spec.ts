import { describe, expect, it } from '@jest/globals';
import { analyse, type AnalysisRequest } from './analyse.js';
import { parsePedigree } from './read-csv.js';
import { Refusal } from './refusal.js';

const analysed = (text: string, request?: AnalysisRequest) => analyse(parsePedigree(text), request);
const defects = (text: string) => analysed(text).defects.map(({ kind, ids, refuses }) => [kind, ids, refuses]);

describe('defects', () => {
  it('cycle: refused, with the ids in order', () => {
    const { defects: found, computed } = analysed('id,sire,dam\na,c,\nb,a,\nc,,b\n');
    expect(found).toEqual([
      {
        kind: 'cycle',
        ids: ['a', 'c', 'b'],
        message:
          '"a" is a child of "c" is a child of "b" is a child of "a": a loop. Correct a parent of one of these animals.',
        refuses: true,
      },
    ]);
    expect(computed).toBeUndefined();
  });

  it('self_parent: refused, once for an animal that is both its parents', () => {
    expect(defects('id,sire,dam,sex\na,a,a,H\nb,,b,F\n')).toEqual([
      ['self_parent', ['a'], true],
      ['self_parent', ['b'], true],
    ]);
  });

  it('missing_row: added as one founder, a warning', () => {
    const { defects: found, animals, computed } = analysed('id,sire,dam\na,x,y\nb,x,y\nc,a,b\n');
    expect(found.map(({ kind, ids }) => [kind, ids])).toEqual([
      ['missing_row', ['x']],
      ['missing_row', ['y']],
    ]);
    expect(found[0]?.message).toBe(
      '"x" is named as a parent of "a" and 1 more but has no line; it was added as a founder. Add its line, correct the name, or leave the parent blank if it is not known.',
    );
    expect(animals.ids).toEqual(['a', 'b', 'c', 'x', 'y']);
    expect([...(computed?.inbreeding ?? [])]).toEqual([0, 0, 0.25, 0, 0]);
  });

  it('sex_conflict: sire recorded female, dam recorded male, one animal as both; not a hermaphrodite', () => {
    const text = 'id,sire,dam,sex\nf,,,F\nm,,,male\nu,,,\nh,,,H\n1,f,,\n2,,m,\n3,u,,\n4,,u,\n5,h,,\n6,,h,\n';
    const found = analysed(text).defects;
    expect(found.map(({ kind, ids }) => [kind, ids])).toEqual([
      ['sex_conflict', ['f']],
      ['sex_conflict', ['m']],
      ['sex_conflict', ['u']],
    ]);
    expect(found[0]?.message).toBe(
      '"f", recorded female, is used as a sire. Correct its sex (H for a hermaphrodite) or the parent entries.',
    );
  });

  it('date_conflict: a parent born for certain after its child; the same year or overlapping dates are none', () => {
    const birth = (parent: string, child: string) => defects(`id,sire,dam,birth\np,,,${parent}\nc,p,,${child}\n`);
    expect(birth('2021', '2020')).toEqual([['date_conflict', ['p', 'c'], false]]);
    expect(birth('2020-06-02', '2020-06-01')).toEqual([['date_conflict', ['p', 'c'], false]]);
    expect(birth('2020', '2020')).toEqual([]);
    expect(birth('2020-06', '2020')).toEqual([]);
    expect(birth('202X', '2020')).toEqual([]);
    expect(birth('2025/..', '2020')).toEqual([['date_conflict', ['p', 'c'], false]]);
    expect(birth('', '2020')).toEqual([]);
    expect(birth('spring', '2020')).toEqual([]);
    expect(analysed('id,sire,dam,birth\np,,,spring\n').unreadBirths).toBe(1);
  });

  it('duplicate_id: a warning where the rows are equal, refused where they differ', () => {
    expect(defects('id,sire,dam,sex\na,,,M\na,,,M\na,,\n')).toEqual([['duplicate_id', ['a'], true]]);
    const same = analysed('id,sire,dam,sex\na,,,M\na,,,M\n');
    expect(same.defects.map(({ kind, refuses }) => [kind, refuses])).toEqual([['duplicate_id', false]]);
    expect(same.animals.ids).toEqual(['a']);
    expect(same.computed).toBeDefined();
  });
});

describe('parents that are not known', () => {
  it('are blank, 0 or another sign, unless an animal has that id', () => {
    const signs = analysed('id,sire,dam\na,0,?\nb,0,?\nc,a,b\n');
    expect([...(signs.computed?.inbreeding ?? [])]).toEqual([0, 0, 0]);
    expect([signs.animals.unknownMarks, signs.defects]).toEqual([4, []]);
    const named = analysed('id,sire,dam\n0,,\na,0,?\nb,0,?\nc,a,b\n');
    expect([...(named.computed?.inbreeding ?? [])]).toEqual([0, 0, 0, 0.125]);
  });
});

describe('reference group', () => {
  const label = (text: string, request?: AnalysisRequest) => {
    const { animals, computed } = analysed(text, request);
    return [computed?.reference.label, animals.ids.filter((_, i) => computed?.reference.members[i])];
  };

  it('is refpop = 1, else status = living, else the animals without offspring', () => {
    expect(label('id,sire,dam,status,refpop\na,,,living,0\nb,a,,dead,1\n')).toEqual(['refpop = 1', ['b']]);
    expect(label('id,sire,dam,status\na,,,Living\nb,a,,dead\n')).toEqual(['status = living', ['a']]);
    expect(label('id,sire,dam,status\na,,,\nb,a,x,\n')).toEqual(['animals without recorded offspring', ['b']]);
  });

  it('is what the keeper asks for', () => {
    const text = 'id,sire,dam,Line\na,,,Red = old\nb,a,,blue\n';
    expect(label(text, { reference: { column: 'line', value: 'red = old' } })).toEqual(['line = red = old', ['a']]);
    expect(() => label(text, { reference: { column: 'room', value: '1' } })).toThrow(
      new Refusal('There is no column "room". --reference can use: id, sire, dam, line'),
    );
    expect(() => label(text, { reference: { column: 'line', value: 'green' } })).toThrow(
      new Refusal('No animal has line = "green". That column holds: Red = old, blue'),
    );
  });
});

describe('pairs', () => {
  it('are found though the names hold commas', () => {
    const text = 'id,sire,dam\n"Flint, elder",,\nb,"Flint, elder",\n';
    expect(analysed(text, { pairs: ['b,Flint, elder', 'b,b'] }).computed?.pairs).toEqual([
      { a: 'b', b: 'Flint, elder', kinship: 0.25 },
      { a: 'b', b: 'b', kinship: 0.5 },
    ]);
  });

  it('of animals that are not there are refused', () => {
    expect(() => analysed('id,sire,dam\na,,\n', { pairs: ['a,z'] })).toThrow(
      new Refusal('--pair: there is no animal "z" in the file. Write the ids as in the file.'),
    );
    expect(() => analysed('id,sire,dam\na,,\n', { pairs: ['a'] })).toThrow(Refusal);
  });
});

describe('large files', () => {
  it('of 100,000 rows are answered, a loop through all of them included', () => {
    const rows = Array.from({ length: 100_000 }, (_, i) => `${i},${i === 0 ? '' : i - 1},x,H`);
    const line = analysed(`id,sire,dam,sex\n${rows.join('\n')}\n`);
    expect(line.defects.map(({ kind }) => kind)).toEqual(['missing_row']);
    const ring = analysed(`id,sire,dam,sex\n${rows.join('\n').replace('0,,x', '0,99999,x')}\n`);
    expect(ring.defects.filter(({ kind }) => kind === 'cycle').map(({ ids }) => ids.length)).toEqual([100_000]);
  });
});
