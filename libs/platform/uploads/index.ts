/** Files that come in and go out over HTTP. */
export { cleanFileName, type FileMediaType, type UploadRules } from './file-kind.js';
export { type Download, sendFile, withUpload } from './http.js';
export { takeUpload } from './take-upload.js';
export { UploadsModule } from './uploads.module.js';
