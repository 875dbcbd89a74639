/** Prints figures as a table: a title, what was measured, columns set flush right. To stdout. */
export function printTable(title: string, columns: readonly string[], rows: readonly (readonly string[])[]): void {
  const widths = columns.map((name, i) => Math.max(name.length, ...rows.map((row) => (row[i] ?? '').length)));
  const line = (cells: readonly string[]): string =>
    cells.map((cell, i) => (i === 0 ? cell.padEnd(widths[i] ?? 0) : cell.padStart(widths[i] ?? 0))).join('  ');
  process.stdout.write(`\n${[title, line(columns), widths.map((width) => '-'.repeat(width)).join('  ')].join('\n')}\n`);
  for (const row of rows) process.stdout.write(`${line(row)}\n`);
}

/** A line of explanation below a table. */
export function printNote(text: string): void {
  process.stdout.write(`  ${text}\n`);
}

/** A whole number with separators: 10,000. */
export const whole = (value: number): string => Math.round(value).toLocaleString('en');

/** Milliseconds, with decimals where they tell something. */
export const milliseconds = (value: number): string => value.toFixed(value < 10 ? 2 : value < 100 ? 1 : 0);

/** A ratio: 0.42. */
export const ratio = (value: number): string => value.toFixed(2);
