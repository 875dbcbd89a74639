import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { callPedigree, csvOf, withFile, type PedigreeAnswer } from './pedigree-command.js';

/** The command as a keeper meets it: what it prints where, and its exit codes (docs/pedigree.md). */
const call = (content: string | Uint8Array, ...options: string[]) =>
  withFile(content, (path) => callPedigree(path, ...options));

describe('the pedigree command', () => {
  it('prints exactly the promised JSON', () => {
    const { exitCode, stdout, stderr } = call(csvOf('A,,,M B,,,F C,A,B,M'), '--json', '--pair', 'A,C');
    const answer = JSON.parse(stdout) as PedigreeAnswer;
    expect([exitCode, stderr]).toEqual([0, '']);
    expect({ ...answer, timingsMs: Object.keys(answer.timingsMs) }).toEqual({
      animals: 3,
      defects: [],
      inbreeding: { A: 0, B: 0, C: 0 },
      meanKinship: { C: 0.5 },
      population: {
        size: 1,
        meanInbreeding: 0,
        meanKinship: 0.5,
        geneDiversity: 0.5,
        founderGenomeEquivalents: 1,
        founderEquivalents: 2,
        founderEquivalentsKnownOnly: 2,
        effectiveAncestors: 1,
        knownAncestry: 1,
      },
      depth: {
        meanGenerationEquivalents: 1,
        meanAncestralInbreeding: 0,
        effectiveSize: null,
        effectiveSizeStandardError: null,
        effectiveSizeCounted: 0,
      },
      pairs: [{ a: 'A', b: 'C', kinship: 0.25 }],
      timingsMs: ['read', 'sort', 'inbreeding', 'meanKinship'],
    });
  });

  it('refuses a loop with exit 2, the ids in the JSON and on standard error', () => {
    const { exitCode, stdout, stderr } = call(csvOf('A,C, B,A, C,B,'), '--json');
    const answer = JSON.parse(stdout) as PedigreeAnswer;
    expect(exitCode).toBe(2);
    expect(answer.defects.map(({ kind, ids }) => [kind, ids])).toEqual([['cycle', ['A', 'C', 'B']]]);
    const { animals, inbreeding, meanKinship, population, depth } = answer;
    expect([animals, inbreeding, meanKinship, population, depth]).toEqual([3, {}, {}, null, null]);
    expect(stderr).toBe(
      'Refused: "A" is a child of "C" is a child of "B" is a child of "A": a loop. Correct a parent of one of these animals.\n',
    );
  });

  it('goes on after warnings with exit 0', () => {
    const { exitCode, stdout } = call(csvOf('A,,,F,2020 C,A,X,M,2019'), '--json');
    expect(exitCode).toBe(0);
    expect((JSON.parse(stdout) as PedigreeAnswer).defects.map(({ kind }) => kind)).toEqual([
      'missing_row',
      'sex_conflict',
      'date_conflict',
    ]);
  });

  it('gives a summary that shows F beside the known ancestry and says which animals were the reference', () => {
    const { exitCode, stdout } = call(csvOf('A,,,M B,,,F C,A,B,M D,A,,F X,C,D,F,,living'), '--pair', 'C,D');
    expect(exitCode).toBe(0);
    expect(stdout).toContain('animals.csv: 5 animals\n\nDefects: none found.\n');
    expect(stdout).toContain('F is a lower bound');
    expect(stdout).toContain('\n  X: F 0.1250, known ancestry 75 %\n');
    expect(stdout).toContain('\nReference group: status = living, 1 animals\n');
    expect(stdout).toContain('\n  C × D: 0.1250\n');
    // X has the known ancestors C, D, A twice, B: ½ + ½ + ¼ + ¼ + ¼; F ⅛: ΔF = 1 − (1 − ⅛)^(1/0.75) = 0.1631.
    expect(stdout).toContain('\n  generation equivalents        1.7500 known above each member, on average\n');
    expect(stdout).toContain(
      '\n  effective population size     3.1, by the inbreeding of 1 members with more than one generation\n',
    );
    expect(stdout.split('\n').length).toBeLessThan(35);
  });

  it.each([
    [['--reference', 'room=1'], 'There is no column "room". --reference can use: id, sire, dam, sex, birth, status\n'],
    [['--pair', 'A,Z'], '--pair: there is no animal "Z" in the file. Write the ids as in the file.\n'],
    [['--colour'], "Unknown option '--colour'. See npm run -s pedigree -- --help\n"],
    [['more.csv'], /^One file at a time: "more.csv" came after /],
  ])('answers %j with one line and exit 2', (options, message) => {
    const { exitCode, stdout, stderr } = call(csvOf('A,,'), ...options);
    expect([exitCode, stdout]).toEqual([2, '']);
    if (typeof message === 'string') expect(stderr).toBe(message);
    else expect(stderr).toMatch(message);
    expect(stderr.trimEnd()).not.toContain('\n');
  });

  it('answers a file that is missing, a folder, a spreadsheet or not text with one line and exit 2', () => {
    const answers = [
      callPedigree('not-there.csv'),
      callPedigree(import.meta.dirname),
      call('PK\u0003\u0004'),
      call(Uint8Array.of(1, 0, 2, 0, 3)),
      callPedigree(),
    ];
    expect(answers.map(({ exitCode, stderr }) => [exitCode, stderr.split('\n').length])).toEqual(
      answers.map(() => [2, 2]),
    );
    expect(answers[0]?.stderr).toBe('There is no file "not-there.csv". Check the name and the folder.\n');
  });

  it('reads names in the older Windows encoding', () => {
    const latin = Buffer.from('id;sire;dam\nJ\u00e4ger;;\n', 'latin1');
    expect((JSON.parse(call(latin, '--json').stdout) as PedigreeAnswer).inbreeding).toEqual({ Jäger: 0 });
  });

  it('works through its launcher, with its own output alone on standard output', () => {
    const launcher = join(import.meta.dirname, '../../tools/pedigree.mjs');
    const launch = (animals: string) =>
      withFile(csvOf(animals), (path) => spawnSync(process.execPath, [launcher, path, '--json'], { encoding: 'utf8' }));
    const accepted = launch('A,,,M B,,,F C,A,B,M D,A,B,F X,C,D,F');
    expect(accepted.status).toBe(0);
    expect((JSON.parse(accepted.stdout) as PedigreeAnswer).inbreeding['X']).toBe(0.25);
    const refused = launch('A,A,,M');
    expect(refused.status).toBe(2);
    expect((JSON.parse(refused.stdout) as PedigreeAnswer).defects[0]?.kind).toBe('self_parent');
    expect(refused.stderr).toContain('"A" is entered as its own sire');
  });
});
