import { type Day } from '../../kernel/index.js';
import { type Doc, FONTS, labelled, MARGIN, newPaper, NO_PROOF, room, rule, WIDTH } from '../../transfer/index.js';
import { animalSections, callsOf, eggSections, relativesSection, type Section } from './pack-words.js';
import { type RecordPack } from './record-pack.schema.js';

/** What a person has to know before reading it. */
const READ_THIS =
  'The whole record as its reader may read it. Everything here is somebody’s statement. Health records are no veterinary ' +
  'advice: ask a licensed veterinarian. Prices, messages, private notes, places and the names of other keepers are left out.';

/** Draws a pack for a person to read: A4, as many pages as it needs. The same pack on the same day gives the same bytes. */
export async function drawRecordPack(pack: RecordPack, printedOn: Day): Promise<Buffer> {
  const { doc, finished } = newPaper('Animal record', new Date(`${printedOn}T00:00:00Z`));
  const call = callsOf(pack);
  doc.font(FONTS.bold).fontSize(20).text('Animal record', { width: WIDTH });
  doc.moveDown(0.4).font(FONTS.text).fontSize(10);
  doc.text(`Written on ${printedOn} from the Kithbook registry, beside pack.json.`, { width: WIDTH });
  doc.moveDown(0.4).font(FONTS.bold).text(NO_PROOF, { width: WIDTH });
  doc.moveDown(0.4).font(FONTS.text).text(READ_THIS, { width: WIDTH });
  for (const animal of pack.animals) {
    room(doc, 120);
    rule(doc);
    animalSections(animal, call).forEach((section, i) => draw(doc, section, i === 0 ? 14 : 11));
  }
  for (const section of eggSections(pack, call)) {
    room(doc, 120);
    rule(doc);
    draw(doc, section, 14);
  }
  if (pack.relatives.length > 0) {
    room(doc, 120);
    rule(doc);
    draw(doc, relativesSection(pack, call), 14);
  }
  if (!pack.ancestryComplete) doc.text('More ancestors are on record than stand here.', MARGIN);
  doc.end();
  return finished;
}

function draw(doc: Doc, { title, lines }: Section, size: number): void {
  room(doc, 60);
  doc.moveDown(0.4).font(FONTS.bold).fontSize(size).text(title, MARGIN, doc.y, { width: WIDTH });
  doc.moveDown(0.2);
  for (const [label, text] of lines) labelled(doc, label, text);
}
