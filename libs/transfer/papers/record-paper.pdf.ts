import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';
import QRCode from 'qrcode';
import { type Day } from '../../kernel/index.js';
import { NO_PROOF, PAPER_DOES_NOT_SHOW, type PaperContent, paperLines } from '../core/record-paper.core.js';

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

const fontFile = (name: string): string => createRequire(import.meta.url).resolve(`dejavu-fonts-ttf/ttf/${name}.ttf`);

/** Embedded fonts with Latin, Greek and Cyrillic letters: the standard fonts of PDF have no č and no ł, and a name is a name. */
const FONTS = { text: fontFile('DejaVuSans'), bold: fontFile('DejaVuSans-Bold'), code: fontFile('DejaVuSansMono') };

const MARGIN = 56;
const WIDTH = 595.28 - 2 * MARGIN;
const LABEL_WIDTH = 120;
const QR_SIZE = 96;

type Doc = InstanceType<typeof PDFDocument>;

/** Draws a paper: A4, black on white, as many pages as its animals need. */
export async function drawRecordPaper(sheet: PaperSheet): Promise<Buffer> {
  const doc = new PDFDocument({
    size: 'A4',
    margin: MARGIN,
    lang: 'en',
    displayTitle: true,
    font: FONTS.text,
    pdfVersion: '1.7',
    info: { Title: 'Animal record', Creator: 'Kithbook', Producer: 'Kithbook' },
  });
  const chunks: Buffer[] = [];
  const finished = new Promise<Buffer>((resolve, reject) => {
    doc.on('data', (chunk: Buffer) => chunks.push(chunk));
    doc.on('end', () => resolve(Buffer.concat(chunks)));
    doc.on('error', reject);
  });
  head(doc, sheet);
  for (const animal of sheet.content.animals) {
    room(doc, 190);
    rule(doc);
    for (const line of paperLines(animal)) labelled(doc, line.label, line.text);
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

function labelled(doc: Doc, label: string, text: string): void {
  room(doc, 30);
  const y = doc.y;
  doc.font(FONTS.bold).fontSize(10).text(label, MARGIN, y, { width: LABEL_WIDTH });
  const labelBottom = doc.y;
  doc.font(FONTS.text).text(text, MARGIN + LABEL_WIDTH, y, { width: WIDTH - LABEL_WIDTH });
  doc.y = Math.max(doc.y, labelBottom) + 2;
  doc.x = MARGIN;
}

function rule(doc: Doc): void {
  doc.moveDown(0.4);
  doc
    .moveTo(MARGIN, doc.y)
    .lineTo(MARGIN + WIDTH, doc.y)
    .lineWidth(0.7)
    .stroke();
  doc.moveDown(0.6);
}

/** Starts a new page when the rest of this one is too short for what comes next. */
function room(doc: Doc, height: number): void {
  if (doc.y + height > doc.page.height - MARGIN) doc.addPage();
}
