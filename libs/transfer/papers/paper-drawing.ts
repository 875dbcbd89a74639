import { createRequire } from 'node:module';
import PDFDocument from 'pdfkit';

const fontFile = (name: string): string => createRequire(import.meta.url).resolve(`dejavu-fonts-ttf/ttf/${name}.ttf`);

/** Embedded fonts with Latin, Greek and Cyrillic letters: the standard fonts of PDF have no č and no ł, and a name is a name. */
export const FONTS = {
  text: fontFile('DejaVuSans'),
  bold: fontFile('DejaVuSans-Bold'),
  code: fontFile('DejaVuSansMono'),
};

export const MARGIN = 56;
export const WIDTH = 595.28 - 2 * MARGIN;
const LABEL_WIDTH = 120;

export type Doc = InstanceType<typeof PDFDocument>;

/** An empty A4 paper, black on white, and the bytes it gives once `doc.end()` is called. `made` is written into it; now when left out. */
export function newPaper(title: string, made?: Date): { doc: Doc; finished: Promise<Buffer> } {
  const doc = new PDFDocument({
    size: 'A4',
    margin: MARGIN,
    lang: 'en',
    displayTitle: true,
    font: FONTS.text,
    pdfVersion: '1.7',
    info: { Title: title, Creator: 'Kithbook', Producer: 'Kithbook', ...(made ? { CreationDate: made } : {}) },
  });
  const chunks: Buffer[] = [];
  const finished = new Promise<Buffer>((resolve, reject) => {
    doc.on('data', (chunk: Buffer) => chunks.push(chunk));
    doc.on('end', () => resolve(Buffer.concat(chunks)));
    doc.on('error', reject);
  });
  return { doc, finished };
}

/** A line of its label and a text, which may run over several lines. */
export function labelled(doc: Doc, label: string, text: string): void {
  room(doc, 30);
  const y = doc.y;
  doc.font(FONTS.bold).fontSize(10).text(label, MARGIN, y, { width: LABEL_WIDTH });
  const [labelBottom, page] = [doc.y, doc.page];
  doc.font(FONTS.text).text(text, MARGIN + LABEL_WIDTH, y, { width: WIDTH - LABEL_WIDTH });
  // A text that ran over to the next page has left its label behind.
  doc.y = (doc.page === page ? Math.max(doc.y, labelBottom) : doc.y) + 2;
  doc.x = MARGIN;
}

/** A line across the page. */
export function rule(doc: Doc): void {
  doc.moveDown(0.4);
  doc
    .moveTo(MARGIN, doc.y)
    .lineTo(MARGIN + WIDTH, doc.y)
    .lineWidth(0.7)
    .stroke();
  doc.moveDown(0.6);
}

/** Starts a new page when the rest of this one is too short for what comes next. */
export function room(doc: Doc, height: number): void {
  if (doc.y + height > doc.page.height - MARGIN) doc.addPage();
}
