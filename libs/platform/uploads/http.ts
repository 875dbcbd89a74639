import { Readable } from 'node:stream';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { unavailable } from '../../kernel/index.js';
import { type BlobStore } from '../blobs/index.js';
import { drain } from './drain.js';
import { attachment, type UploadRules } from './file-kind.js';
import { fileTooLarge } from './take-upload.js';

/**
 * How many times the size a file may have is read and forgotten, so that whoever sends a file that is too large hears so: a
 * connection that is closed before the whole file was sent is all the sender would see otherwise.
 */
const HEARD_OUT = 8;

/**
 * Hands the body of a request on as a stream, with the content type it was sent as, and answers what is refused in such a
 * way that a client that is still sending reads it.
 */
export async function withUpload<T>(
  request: FastifyRequest,
  reply: FastifyReply,
  rules: UploadRules,
  take: (declared: string, source: Readable) => Promise<T>,
): Promise<T> {
  // A body another parser has read (JSON, a form) is no file; what such a request sends is not read at all.
  const body = request.body instanceof Readable ? request.body : Readable.from([]);
  const declared = request.headers['content-type']?.split(';')[0]?.trim().toLowerCase() ?? 'application/octet-stream';
  try {
    const announced = Number(request.headers['content-length'] ?? 0);
    return await take(declared, announced > rules.maxBytes ? tooLarge(rules) : body);
  } catch (error) {
    // A client that is still sending would not read the answer.
    if (!(await drain(body, HEARD_OUT * rules.maxBytes))) void reply.header('connection', 'close');
    throw error;
  }
}

/** A kept file as an answer. */
export type Download = {
  readonly sha256: string;
  readonly mediaType: string;
  readonly size: number;
  readonly fileName: string;
};

/** Sends a kept file as a download. UNAVAILABLE where the store does not have its bytes. */
export async function sendFile(
  reply: FastifyReply,
  blobs: BlobStore,
  { sha256, mediaType, size, fileName }: Download,
): Promise<void> {
  const bytes = await blobs.open(sha256);
  if (bytes === null) throw unavailable('The file store');
  await reply
    .header('content-type', mediaType)
    .header('content-length', size)
    .header('content-disposition', attachment(fileName))
    .header('x-content-type-options', 'nosniff')
    // Should a browser open it all the same, nothing in it may run.
    .header('content-security-policy', "default-src 'none'; sandbox")
    .header('cache-control', 'private, no-store')
    .send(bytes);
}

/** A body that is refused as soon as somebody begins to read it: the scope is asked first, so a stranger is told the same whatever is sent. */
function tooLarge(rules: UploadRules): Readable {
  return new Readable({
    read() {
      this.destroy(fileTooLarge(rules));
    },
  });
}
