/** Files by the hash of their content. */
export { BlobStore, BlobTooLarge, type ReceivedBlob } from './blob-store.js';
export { BlobsModule } from './blobs.module.js';
export { LocalBlobStore } from './local-blob-store.js';
