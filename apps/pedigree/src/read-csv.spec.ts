import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { parsePedigree, readPedigreeFile } from './read-csv.js';
import { Refusal } from './refusal.js';

const ids = (text: string) => parsePedigree(text).rows.map(({ id, sire, dam }) => [id, sire, dam]);

describe('parsePedigree', () => {
  it('reads columns in any order and letter case, and keeps the others', () => {
    const file = parsePedigree('Name,DAM,id,Sire\nFlint,b,c,a\n');
    expect(file.columns).toEqual(['name', 'dam', 'id', 'sire']);
    expect(file.rows).toEqual([
      { line: 2, id: 'c', sire: 'a', dam: 'b', sex: '', birth: '', cells: ['Flint', 'b', 'c', 'a'] },
    ]);
  });

  it('reads what spreadsheets write: byte order mark, CRLF, semicolons, quotes, blank lines, short rows', () => {
    expect(ids('\uFEFFid;sire;dam;sex\r\n"Flint, the elder"; ;;M\r\n;;;\r\n\r\nb;"Flint, the elder"\r\n')).toEqual([
      ['Flint, the elder', '', ''],
      ['b', 'Flint, the elder', ''],
    ]);
  });

  it('reads tabs', () => {
    expect(ids('id\tsire\tdam\nx\ta\tb')).toEqual([['x', 'a', 'b']]);
  });

  it.each([
    ['', 'The file is empty. Its first line names the columns: id,sire,dam'],
    ['id,sire,dam\n', 'The file names columns but no animal. Add one line an animal.'],
    [
      'name,father\nx,y\n',
      'The file has no column "id" and "sire" and "dam". The first line must name the columns id, sire and dam; found: name, father',
    ],
    ['id,sire,dam\na,,\n,a,\n', 'Line 3 has no id. Give the animal an id, or remove the line.'],
    ['id,sire,dam,Sire\n', 'The column "sire" occurs twice. Rename or remove one of them.'],
  ])('refuses %j with the remedy', (text, message) => {
    expect(() => parsePedigree(text)).toThrow(new Refusal(message));
  });

  it('refuses a stray quote and names the line', () => {
    expect(() => parsePedigree('id,sire,dam\na,,\n"b,,\nc,,\n')).toThrow(/no readable CSV: .*line/i);
  });
});

describe('readPedigreeFile', () => {
  it('refuses a file that is no text, wherever that shows', () => {
    const folder = mkdtempSync(join(tmpdir(), 'kithbook-csv-'));
    const file = join(folder, 'pedigree.csv');
    writeFileSync(file, 'id,sire,dam\na,,\nb\0c,,\n');
    expect(() => readPedigreeFile(file)).toThrow(
      new Refusal('This is not a text file. Save the table as CSV and retry.'),
    );
    rmSync(folder, { recursive: true });
  });
});
