/** Sends one photo. A request object that reports upload progress is made by `openRequest` (an XMLHttpRequest). */

import { ServerRefused, ServerUnreachable } from "./server.js";

/**
 * @param {File} file
 * @param {{onProgress: (share: number) => void, signal: AbortSignal, openRequest: () => XMLHttpRequest}} how
 * @returns {Promise<{photo: Object, outcome: string, says: string}>}
 */
export function uploadOne(file, { onProgress, signal, openRequest }) {
  const form = new FormData();
  form.append("photo", file, file.name);
  if (file.lastModified) form.append("file_time", new Date(file.lastModified).toISOString());
  return new Promise((resolve, reject) => {
    const request = openRequest();
    request.open("POST", "/api/photos");
    request.responseType = "json";
    request.upload.onprogress = (event) => event.lengthComputable && onProgress(event.loaded / event.total);
    request.onerror = () => reject(new ServerUnreachable());
    request.onabort = () => reject(new DOMException("cancelled", "AbortError"));
    request.onload = () => {
      const answer = request.response;
      if (request.status >= 200 && request.status < 300 && answer) return resolve(answer);
      const silent = {
        message: `The journal answered with an error (${request.status}); the photo was not taken in.`,
      };
      reject(new ServerRefused(answer?.error ?? silent, request.status, answer));
    };
    signal.addEventListener("abort", () => request.abort());
    request.send(form);
  });
}
