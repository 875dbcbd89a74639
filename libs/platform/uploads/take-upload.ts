import { type Readable } from 'node:stream';
import { fileTypeFromBuffer } from 'file-type';
import { type DomainError, ruleRefused } from '../../kernel/index.js';
import { type BlobStore, BlobTooLarge, type ReceivedBlob } from '../blobs/index.js';
import { decideFileKind, type FileMediaType, mayBeDeclared, type UploadRules } from './file-kind.js';

/** A file that arrived whole and passes the rules. Call `blob.keep` or `blob.discard`. */
export type Upload = { readonly blob: ReceivedBlob; readonly mediaType: FileMediaType };

/**
 * Takes the bytes of an upload. Nothing is read that could not be kept, and nothing of a refused file stays. FILE_TOO_LARGE,
 * FILE_EMPTY, FILE_TYPE_REFUSED, FILE_TYPE_CONTRADICTED, FILE_BROKEN_OFF.
 */
export async function takeUpload(
  blobs: BlobStore,
  rules: UploadRules,
  declared: string,
  source: Readable,
): Promise<Upload> {
  if (!mayBeDeclared(rules, declared)) kindOf(rules, declared, undefined, 1);
  const blob = await receive(blobs, rules, source);
  try {
    const found = await fileTypeFromBuffer(blob.head);
    return { blob, mediaType: kindOf(rules, declared, found?.mime, blob.size) };
  } catch (error) {
    await blob.discard();
    throw error;
  }
}

/** The refusal of a file that exceeds the rules. */
export function fileTooLarge(rules: UploadRules): DomainError {
  return ruleRefused({
    rule: 'FILE_TOO_LARGE',
    message: `A file may have at most ${rules.maxBytes / 1024 / 1024} MiB here. ${rules.remedy}`,
  });
}

function kindOf(...args: Parameters<typeof decideFileKind>): FileMediaType {
  const decision = decideFileKind(...args);
  if (!decision.ok) throw ruleRefused(decision.refusal);
  return decision.value;
}

async function receive(blobs: BlobStore, rules: UploadRules, source: Readable): Promise<ReceivedBlob> {
  try {
    return await blobs.receive(source, rules.maxBytes);
  } catch (error) {
    if (error instanceof BlobTooLarge) throw fileTooLarge(rules);
    // The sender went away: not a fault of ours, and nobody is left to read the answer.
    if ((error as NodeJS.ErrnoException).code === 'ECONNRESET') {
      throw ruleRefused({ rule: 'FILE_BROKEN_OFF', message: 'The file did not arrive whole. Send it again.' });
    }
    throw error;
  }
}
