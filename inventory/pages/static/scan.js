// Reads labels with the phone's camera where the browser offers a barcode detector (secure pages only).
// The page works without this file: the field takes what a hand scanner or a thumb types.

const button = document.getElementById("camera");
const box = document.getElementById("viewfinder");
const video = document.getElementById("view");
const says = document.getElementById("camera-says");
let stream = null;

const offered = async () =>
  window.isSecureContext && "BarcodeDetector" in window && navigator.mediaDevices &&
  (await window.BarcodeDetector.getSupportedFormats()).includes("qr_code");

const stop = () => {
  if (stream) stream.getTracks().forEach((track) => track.stop());
  stream = null;
  box.hidden = true;
  button.textContent = "Use the camera";
};

const open = (text) => {
  stop();
  const field = document.getElementById("code");
  field.value = text;
  field.form.requestSubmit();
};

const watch = async (detector) => {
  while (stream) {
    const found = await detector.detect(video).catch(() => []);
    if (stream && found.length) return open(found[0].rawValue);
    await new Promise((resolve) => setTimeout(resolve, 120));
  }
};

const start = async () => {
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
  } catch {
    says.textContent = "The camera cannot be used: allow it for this page, or type the code.";
    box.hidden = false;
    video.hidden = true;
    return;
  }
  video.hidden = false;
  box.hidden = false;
  button.textContent = "Stop the camera";
  video.srcObject = stream;
  await video.play();
  const formats = (await window.BarcodeDetector.getSupportedFormats()).filter((name) => ["qr_code", "data_matrix", "code_128"].includes(name));
  watch(new window.BarcodeDetector({ formats }));
};

if (await offered().catch(() => false)) {
  button.hidden = false;
  button.addEventListener("click", () => (stream ? stop() : start()));
  window.addEventListener("pagehide", stop);
}
