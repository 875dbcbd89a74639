import readExif from 'exif-reader';
import sharp from 'sharp';
import { type Decision, decide, refuse } from '../../kernel/index.js';

/** Longest side of the copy that others see, and of the small one, in pixels. */
const SHARED_SIDE = 2048;
const THUMB_SIDE = 320;
/** A picture that unpacks to more than this is no photo of an animal, whatever its file weighs. */
const MOST_PIXELS = 100_000_000;

/** The copies made of a picture, both JPEG and free of everything a camera writes beside the picture. */
export type PreparedPicture = {
  /** In pixels, upright. */
  readonly width: number;
  readonly height: number;
  /** What the camera wrote, as `2026-05-03T14:20:00`: its own clock, no time zone. */
  readonly claimedTakenAt: string | null;
  readonly shared: Buffer;
  readonly thumb: Buffer;
};

/** Makes the copies of a picture. PICTURE_UNREADABLE for what is damaged or far too large. */
export async function preparePicture(original: Buffer): Promise<Decision<PreparedPicture>> {
  try {
    // A picture that breaks off, or bends the rules of its format, is refused rather than shown grey.
    const input = { limitInputPixels: MOST_PIXELS, failOn: 'error' } as const;
    const { exif, autoOrient } = await sharp(original, input).metadata();
    // `autoOrient` turns by the camera's note, which goes with the rest of the notes; transparency would come out black.
    const upright = sharp(original, input).autoOrient().flatten({ background: '#ffffff' });
    const copy = (side: number) =>
      upright
        .clone()
        .resize(side, side, { fit: 'inside', withoutEnlargement: true })
        .toColourspace('srgb')
        .jpeg({ quality: 85, mozjpeg: true })
        .toBuffer();
    return decide({
      width: autoOrient.width,
      height: autoOrient.height,
      claimedTakenAt: exif === undefined ? null : takenAt(exif),
      shared: await copy(SHARED_SIDE),
      thumb: await copy(THUMB_SIDE),
    });
  } catch {
    // The library says what is wrong in the words of a programmer; whatever it is, the remedy is the same.
    return refuse(
      'PICTURE_UNREADABLE',
      'This picture is damaged, or has more than 100 million points. Save it again as a JPEG and send that.',
    );
  }
}

function takenAt(exif: Buffer): string | null {
  try {
    const { Photo, Image } = readExif(exif);
    const taken = Photo?.DateTimeOriginal ?? Image?.DateTime;
    return taken instanceof Date && !Number.isNaN(taken.getTime()) ? taken.toISOString().slice(0, 19) : null;
  } catch {
    return null; // notes that cannot be read are no reason to refuse the picture
  }
}
