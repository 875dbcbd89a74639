import { beforeAll, describe, expect, it } from '@jest/globals';
import { getDocument } from 'pdfjs-dist/legacy/build/pdf.mjs';
import { day } from '../../kernel/index.js';
import { type PaperAnimal } from './record-paper.core.js';
import { drawRecordPaper, type PaperSheet } from './record-paper.pdf.js';

const animal: PaperAnimal = {
  animalId: '01890000-0000-7000-8000-000000000001',
  registerNumber: 'HJ4-K7P-QR9',
  kind: 'individual',
  scientificName: 'Testudo hermanni',
  commonName: "Hermann's tortoise",
  sex: 'unknown',
  sexMethod: null,
  sexConfidence: null,
  birthManner: 'hatched',
  birthEdtf: '2026-05~',
  sires: [],
  dams: ['WX3-47N-MPT'],
  originClass: 'bred',
  originClaimedBy: 'giver',
  marks: [],
  lastWeight: { grams: 18.5, on: '2026-08-30' },
  count: 1,
  countEstimated: false,
};

const sheet: PaperSheet = {
  content: { version: 1, showsGiver: false, animals: [animal] },
  printedOn: day('2026-09-01'),
  giverName: null,
  claimCode: '34679-CDFGH-JKMNP-QRTVW',
  checkUrl: 'https://kithbook.example/papers/WVTRQPNMKJHGFDC97643',
  registryUrl: 'https://kithbook.example',
};

async function read(pdf: Buffer): Promise<{ pages: number; text: string }> {
  const doc = await getDocument({ data: new Uint8Array(pdf), useSystemFonts: false, verbosity: 0 }).promise;
  const texts: string[] = [];
  for (let i = 1; i <= doc.numPages; i++) {
    const content = await (await doc.getPage(i)).getTextContent();
    texts.push(content.items.map((item) => ('str' in item ? item.str : '')).join(' '));
  }
  const pages = doc.numPages;
  await doc.destroy();
  return { pages, text: texts.join(' ').replace(/\s+/g, ' ') };
}

describe('the printed record', () => {
  let text = '';
  beforeAll(async () => {
    ({ text } = await read(await drawRecordPaper(sheet)));
  });

  it('shows the register number, what is roughly known and what is not known', () => {
    for (const part of [
      'HJ4-K7P-QR9',
      'Testudo hermanni',
      'about May 2026',
      'Sire unknown',
      'Dam WX3-47N-MPT',
      'as claimed by the keeper who gave',
    ]) {
      expect(text).toContain(part);
    }
  });

  it('says what it is not, and what it leaves out', () => {
    expect(text).toContain('This paper is not a proof of origin nor a permit; the licensing authority decides.');
    expect(text).toContain('What this paper does not show');
  });

  it('carries the claim code and how to use it, and the address to check it', () => {
    expect(text).toContain('34679-CDFGH-JKMNP-QRTVW');
    expect(text).toContain('The code works once');
    expect(text).toContain('https://kithbook.example/papers/WVTRQPNMKJHGFDC97643');
  });

  it("names no giver, and carries no claim code, on a copy without them; the giver's name where it is wanted", async () => {
    expect(text).not.toContain('Given by');
    const copy = await read(await drawRecordPaper({ ...sheet, claimCode: null, giverName: 'Haus Lindenau' }));
    expect(copy.text).not.toContain('claim code');
    expect(copy.text).toContain('Given by: Haus Lindenau');
  });

  it('writes names with the letters they have', async () => {
    const { text } = await read(await drawRecordPaper({ ...sheet, giverName: 'Lukáš Dvořák, Łódź, Ирина' }));
    expect(text).toContain('Given by: Lukáš Dvořák, Łódź, Ирина');
  });

  it('goes on over more pages when there are many animals, without losing one', async () => {
    const animals = Array.from({ length: 12 }, (_, i) => ({ ...animal, registerNumber: `NUMBER-${i}-` }));
    const long = await read(await drawRecordPaper({ ...sheet, content: { ...sheet.content, animals } }));
    expect(long.pages).toBeGreaterThan(2);
    for (const { registerNumber } of animals) expect(long.text).toContain(registerNumber);
  });
});
