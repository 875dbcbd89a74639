import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';
import { Refusal } from './refusal.js';

/** One animal as written in the file. Nothing is interpreted yet, except that blanks around a value are gone. */
export interface PedigreeRow {
  /** Line of the file, for messages; the header is line 1. */
  readonly line: number;
  readonly id: string;
  /** Id of the sire as written, '' where none is. */
  readonly sire: string;
  readonly dam: string;
  readonly sex: string;
  readonly birth: string;
  /** All cells in the order of the file's columns, those above included. */
  readonly cells: readonly string[];
}

/** A pedigree file: its columns in lower case, and its rows. */
export interface PedigreeFile {
  readonly columns: readonly string[];
  readonly rows: readonly PedigreeRow[];
}

/**
 * Reads a pedigree file: comma, semicolon or tab, with or without byte order mark, any line end, quoted cells, in UTF-8
 * or else in the Western Windows encoding that older spreadsheets write. Columns come in any order and letter case.
 *
 * @throws Refusal when the file cannot be read, is no table, or lacks a column or an id
 */
export function readPedigreeFile(path: string): PedigreeFile {
  return parsePedigree(decode(readBytes(path)));
}

/**
 * The same from text, for callers that already hold it.
 *
 * @throws Refusal as {@link readPedigreeFile}
 */
export function parsePedigree(text: string): PedigreeFile {
  const [header, ...body] = parseTable(text);
  if (header === undefined) throw new Refusal('The file is empty. Its first line names the columns: id,sire,dam');
  const columns = header.cells.map((name) => name.toLowerCase());
  const twice = columns.find((name, at) => name !== '' && columns.indexOf(name) !== at);
  if (twice !== undefined) throw new Refusal(`The column "${twice}" occurs twice. Rename or remove one of them.`);
  const missing = ['id', 'sire', 'dam'].filter((name) => !columns.includes(name));
  if (missing.length > 0) {
    throw new Refusal(
      `The file has no column ${missing.map((name) => `"${name}"`).join(' and ')}. ` +
        `The first line must name the columns id, sire and dam; found: ${header.cells.join(', ').slice(0, 200)}`,
    );
  }
  const at = (name: string): number => columns.indexOf(name);
  const [id, sire, dam, sex, birth] = [at('id'), at('sire'), at('dam'), at('sex'), at('birth')];
  const rows: PedigreeRow[] = [];
  for (const { line, cells } of body) {
    if (cells.every((cell) => cell === '')) continue;
    const cell = (column: number): string => cells[column] ?? '';
    if (cell(id) === '') throw new Refusal(`Line ${line} has no id. Give the animal an id, or remove the line.`);
    rows.push({ line, id: cell(id), sire: cell(sire), dam: cell(dam), sex: cell(sex), birth: cell(birth), cells });
  }
  if (rows.length === 0) throw new Refusal('The file names columns but no animal. Add one line an animal.');
  return { columns, rows };
}

function readBytes(path: string): Buffer {
  try {
    return readFileSync(path);
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT') throw new Refusal(`There is no file "${path}". Check the name and the folder.`);
    if (code === 'EISDIR') throw new Refusal(`"${path}" is a folder. Name the CSV file in it.`);
    if (code === 'EACCES') throw new Refusal(`"${path}" may not be read. Check the permissions of the file.`);
    throw new Refusal(`"${path}" cannot be read (${code ?? message}). Save it again as CSV and retry.`);
  }
}

function decode(bytes: Buffer): string {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
  if (bytes.includes(0)) throw new Refusal('This is not a text file. Save the table as CSV and retry.');
  if (bytes.subarray(0, 2).toString('latin1') === 'PK') {
    throw new Refusal('This is a spreadsheet, not a CSV file. Save it as CSV (comma separated) and retry.');
  }
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

function parseTable(text: string): { line: number; cells: string[] }[] {
  try {
    const records = parse(text, {
      bom: true,
      delimiter: delimiterOf(text),
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
      trim: true,
    }) as unknown as { info: { lines: number }; record: string[] }[];
    return records.map(({ info, record }) => ({ line: info.lines, cells: record }));
  } catch (error) {
    throw new Refusal(
      `The file is no readable CSV: ${(error as Error).message}. Correct that line (often a stray quote) and retry.`,
    );
  }
}

/** The separator that occurs most in the first line, outside quotes. */
function delimiterOf(text: string): string {
  const header = (/^[^\r\n]*/.exec(text.trimStart())?.[0] ?? '').replaceAll(/"[^"]*"/g, '');
  const count = (separator: string): number => header.split(separator).length;
  return [',', ';', '\t'].reduce((best, separator) => (count(separator) > count(best) ? separator : best));
}
