import QRCode from 'qrcode';
import { type Day } from '../../kernel/index.js';
import { eggLines } from '../eggs/egg-paper.core.js';
import { NO_PROOF, PAPER_DOES_NOT_SHOW, type PaperContent, paperLines } from './record-paper.core.js';
import { type Doc, FONTS, labelled, MARGIN, newPaper, room, rule, WIDTH } from './paper-drawing.js';

/** Everything that is drawn on a paper. */
export type PaperSheet = {
  readonly content: PaperContent;
  readonly printedOn: Day;
  /** The giver's name, where the giver wants it on the paper. */
  readonly giverName: string | null;
  /** In the form for print; null on a copy without one (receiver's copy, or taken up already). */
  readonly claimCode: string | null;
  /** Address of the public page about this paper. */
  readonly checkUrl: string;
  /** Address of the registry, where the claim code is used. */
  readonly registryUrl: string;
};

const QR_SIZE = 96;

/** Draws a paper: A4, black on white, as many pages as its animals need. */
export async function drawRecordPaper(sheet: PaperSheet): Promise<Buffer> {
  const { doc, finished } = newPaper('Animal record');
  head(doc, sheet);
  for (const animal of sheet.content.animals) {
    room(doc, 190);
    rule(doc);
    for (const line of paperLines(animal)) labelled(doc, line.label, line.text);
  }
  for (const clutch of sheet.content.eggs ?? []) {
    room(doc, 190);
    rule(doc);
    for (const line of eggLines(clutch, sheet.printedOn)) labelled(doc, line.label, line.text);
  }
  omissions(doc);
  if (sheet.claimCode !== null) claim(doc, sheet.claimCode, sheet.registryUrl);
  doc.end();
  return finished;
}

function head(doc: Doc, sheet: PaperSheet): void {
  const top = doc.y;
  const textWidth = WIDTH - QR_SIZE - 24;
  doc.font(FONTS.bold).fontSize(20).text('Animal record', MARGIN, top, { width: textWidth });
  doc.moveDown(0.4).font(FONTS.text).fontSize(10);
  doc.text(`Printed on ${sheet.printedOn} from the Kithbook registry.`, { width: textWidth });
  if (sheet.giverName !== null) doc.text(`Given by: ${sheet.giverName}`, { width: textWidth });
  doc.moveDown(0.4).font(FONTS.bold).text(NO_PROOF, { width: textWidth });
  doc
    .moveDown(0.4)
    .font(FONTS.text)
    .text('To check this paper against the registry, scan the square or open', { width: textWidth });
  doc.font(FONTS.code).fontSize(8).text(sheet.checkUrl, { width: textWidth });
  square(doc, sheet.checkUrl, MARGIN + WIDTH - QR_SIZE, top);
  doc.y = Math.max(doc.y, top + QR_SIZE) + 8;
  doc.x = MARGIN;
}

/** Draws a QR code (ISO/IEC 18004) as filled squares: sharp at any size, and a hundred times faster than an image. */
function square(doc: Doc, text: string, left: number, top: number): void {
  const { modules } = QRCode.create(text, { errorCorrectionLevel: 'M' });
  const step = QR_SIZE / modules.size;
  for (let row = 0; row < modules.size; row++) {
    for (let column = 0; column < modules.size; column++) {
      if (modules.get(row, column)) doc.rect(left + column * step, top + row * step, step, step);
    }
  }
  doc.fill('black');
}

/** The last part of the paper, below a line to cut along. */
function claim(doc: Doc, code: string, registryUrl: string): void {
  room(doc, 120);
  doc.dash(4, { space: 4 });
  rule(doc);
  doc.undash();
  doc.font(FONTS.bold).fontSize(12).text('Take the record up', MARGIN);
  doc.moveDown(0.3).font(FONTS.code).fontSize(14).text(code);
  doc.moveDown(0.3).font(FONTS.text).fontSize(10);
  doc.text(
    `Open an account at ${registryUrl} and enter this claim code there ("takeUpTransfer"). The whole record, with its ` +
      'history, is then yours to read and to continue. The code works once. Whoever has it can take the record up: keep ' +
      'this part to yourself, and cut it off before you show the paper to others.',
    { width: WIDTH },
  );
}

function omissions(doc: Doc): void {
  room(doc, 120);
  rule(doc);
  doc.font(FONTS.bold).fontSize(12).text('What this paper does not show', MARGIN);
  doc
    .moveDown(0.3)
    .font(FONTS.text)
    .fontSize(10)
    .list([...PAPER_DOES_NOT_SHOW], { width: WIDTH, bulletRadius: 1.5 });
}
