;;; emacs.el --- Opens a sample in the real Emacs -*- lexical-binding: t; -*-

;;; Commentary:

;; Fails (with a status of 1) unless mode, diagnostics, hover and edits work.
;;
;;   OHMLINE=target/debug/ohmline emacs -Q --batch -L editors/emacs -l tests/editors/emacs.el

;;; Code:

(require 'cl-lib)
;; Debian's package of Eglot for Emacs before 29 lies here.
(let ((packages "/usr/share/emacs/site-lisp/elpa"))
  (when (and (< emacs-major-version 29) (file-directory-p packages))
    (require 'package)
    (add-to-list 'package-directory-list packages)
    (package-initialize)))
(require 'eglot)
(require 'flymake)
(require 'ohmline-mode)
;; Where the package is not installed, a mode of its name stands in for it.
(unless (require 'markdown-mode nil t)
  (define-derived-mode markdown-mode text-mode "Markdown")
  (add-to-list 'auto-mode-alist '("\\.md\\'" . markdown-mode)))

(defconst test-limit 30)

(defun test-ok (holds what)
  "Say WHAT, or fail unless HOLDS."
  (unless holds (error "Failed: %s" what))
  (message "ok: %s" what))

(defun test-wait (what condition)
  "Wait until CONDITION gives something, and give that; WHAT is being waited for."
  (let ((end (+ (float-time) test-limit)) found)
    (while (and (not (setq found (funcall condition))) (< (float-time) end))
      (accept-process-output nil 0.05))
    (test-ok found what)
    found))

(defun test-diagnostics (severity)
  "What Flymake shows of at least SEVERITY: texts with lines."
  ;; Without a person at the keyboard, no idle timer sends what has changed.
  (eglot--signal-textDocument/didChange)
  (flymake-start)
  (mapcar (lambda (found)
            (cons (line-number-at-pos (flymake-diagnostic-beg found)) (flymake-diagnostic-text found)))
          (cl-remove-if-not (lambda (found) (memq (flymake-diagnostic-type found) severity))
                            (flymake-diagnostics))))

(defun test-errors () "Errors that are shown." (test-diagnostics '(eglot-error)))

(defun test-face (word)
  "The face of WORD where it first stands."
  (save-excursion
    (goto-char (point-min))
    (search-forward word)
    (get-text-property (match-beginning 0) 'face)))

(defun test-request (method &rest more)
  "The server's answer to METHOD at point, with MORE parameters."
  (jsonrpc-request (eglot-current-server) method (append (eglot--TextDocumentPositionParams) more) :timeout test-limit))

(defun test-markdown (folder)
  "A circuit between fences, in FOLDER."
  (add-hook 'markdown-mode-hook #'ohmline-ensure-server-in-markdown)
  (let ((prose (expand-file-name "prose.md" folder))
        (notes (expand-file-name "notes.md" folder)))
    (write-region "# Prose\n\n```sh\nohmline check notes.md\n```\n" nil prose nil 'quiet)
    (write-region "# Notes 🚢

> ```ohmline
> battery B1 = 4.5 V
> resistor R1 = 9 Ω
> B1+ -- R1 -- B1-
> claim current through R1 = 1 A
> ```
" nil notes nil 'quiet)
    (find-file prose)
    (run-hooks 'post-command-hook)
    (test-ok (null (eglot-current-server)) "Markdown without a circuit has no server")
    (find-file notes)
    (test-ok (derived-mode-p 'markdown-mode) "Markdown has its mode")
    (run-hooks 'post-command-hook)
    (test-wait "the server is there for Markdown with a circuit" #'eglot-current-server)
    (let ((found (test-wait "a wrong claim between fences is found" (lambda () (car (test-errors))))))
      (test-ok (= (car found) 7) "in the line of that claim"))
    (goto-char (point-min))
    (search-forward "resistor R1")
    (backward-char)
    (let ((shown (plist-get (plist-get (test-request :textDocument/hover) :contents) :value)))
      (test-ok (string-match-p "500 mA" shown) "hover between fences shows solved values"))
    (search-forward "= 1 A")
    (insert "\n> find current thr")
    (eglot--signal-textDocument/didChange)
    (completion-at-point)
    (test-ok (string-match-p "find current through" (buffer-substring (line-beginning-position) (line-end-position)))
             "words are completed between fences")
    (set-buffer-modified-p nil)
    (eglot-shutdown (eglot-current-server) nil 10)
    (kill-buffer)))

(defun test-rename-elsewhere (folder)
  "A part that a file in FOLDER uses which is not open is renamed there too."
  (let ((kit (expand-file-name "kit.ohmline" folder))
        (quay (expand-file-name "quay.ohmline" folder))
        (eglot-confirm-server-initiated-edits nil))
    (write-region "include \"kit.ohmline\"\nbattery B1 = 3 V\nlantern West\nB1+ -- @West.in\n@West.out -- B1-\n" nil quay nil 'quiet)
    (write-region "part lantern(in, out)\n  lamp L = 6 ohm\n  @in -- L -- @out\nend\n" nil kit nil 'quiet)
    (find-file kit)
    (call-interactively #'eglot)
    (goto-char (point-min))
    (search-forward "lantern")
    (backward-char)
    ;; Nobody is there to confirm the change of files that are not open.
    (cl-letf (((symbol-function 'y-or-n-p) (lambda (&rest _) t))
              ((symbol-function 'yes-or-no-p) (lambda (&rest _) t)))
      (eglot-rename "lampion"))
    (goto-char (point-min))
    (test-ok (looking-at-p "part lampion(in, out)") "a part is renamed")
    (with-current-buffer (find-file-noselect quay)
      (goto-char (point-min))
      (test-ok (search-forward "\nlampion West\n" nil t) "and in a file that was not open")
      (set-buffer-modified-p nil)
      (kill-buffer))
    (set-buffer-modified-p nil)
    (eglot-shutdown (eglot-current-server) nil 10)
    (kill-buffer)))

(defun test-fix-on-save (folder)
  "Every safe fix, as a file of FOLDER is written."
  (let ((file (expand-file-name "winch.ohmline" folder)))
    (write-region "battery B1 = 4,5 V\nresistor R1 = 9 ohm\nB1+ --- R1 -- B1-\n" nil file nil 'quiet)
    (find-file file)
    (call-interactively #'eglot)
    (add-hook 'before-save-hook #'ohmline-fix-all nil t)
    (test-wait "two slips are found" (lambda () (= 2 (length (test-diagnostics '(eglot-error eglot-warning))))))
    (set-buffer-modified-p t)
    (let ((inhibit-message t)) (save-buffer))
    (test-ok (string= (buffer-string) "battery B1 = 4.5 V\nresistor R1 = 9 ohm\nB1+ -- R1 -- B1-\n") "saving mends both")
    (eglot-shutdown (eglot-current-server) nil 10)
    (kill-buffer)))

(defun test-settings (folder)
  "The settings of the circuits in FOLDER, open and closed."
  (let ((file (expand-file-name "winch.ohmline" folder))
        (settings (expand-file-name "ohmline.toml" folder))
        (warned (lambda () (test-diagnostics '(eglot-warning)))))
    (write-region "battery B1 = 6 V\nresistor R1 = 9 ohm\nlamp L1 = 3 ohm\nB1+ -- R1 -- B1-\n" nil file nil 'quiet)
    (find-file file)
    (call-interactively #'eglot)
    (test-wait "a lamp that is never placed is found" warned)
    (write-region "[levels]\nnever-placed = \"off\"\n" nil settings nil 'quiet)
    (test-wait "settings written outside of the editor count" (lambda () (null (funcall warned))))
    (delete-file settings)
    (test-wait "without them everything is as before" warned)
    (eglot-shutdown (eglot-current-server) nil 10)
    (kill-buffer)
    (write-region "[levels]\nnever-plced = \"off\"\n" nil settings nil 'quiet)
    (add-hook 'find-file-hook #'ohmline-ensure-server-in-settings)
    (find-file settings)
    (run-hooks 'post-command-hook)
    (test-wait "an ohmline.toml has the server" #'eglot-current-server)
    (test-wait "what is wrong in it is shown" (lambda () (test-diagnostics '(eglot-warning eglot-error))))
    (remove-hook 'find-file-hook #'ohmline-ensure-server-in-settings)
    (eglot-shutdown (eglot-current-server) nil 10)
    (kill-buffer)))

(defun test-session ()
  "The session."
  (let* ((server (or (getenv "OHMLINE") (error "OHMLINE names the command to test")))
         (folder (file-name-as-directory (make-temp-file "ohmline" t)))
         (file (expand-file-name "pier.ohmline" folder)))
    (setq ohmline-server-command (list (expand-file-name server) "serve"))
    (setq eglot-sync-connect test-limit)
    (write-region "## Pier lamps of the model harbour: Ω and 🔋 count as editors count them.
circuit \"Pier lamps 🚢\"
battery  B1 = 4.5 V, internal 1 ohm
resistor R1 = 9 Ω
resistor R2 = 10 Ω
resistor R3 = 15 Ω
part lantern(in, out)
lamp L = 3 ohm
@in -- L -- @out
end
B1+ -- R1 -- @fork -- R2 -- @join --- B1-
@fork -- R3 -- @join
claim R1, R2 in series
" nil file nil 'quiet)
    (find-file file)
    (test-ok (eq major-mode 'ohmline-mode) "the file has its mode")
    (font-lock-ensure)
    (test-ok (eq (test-face "battery") 'font-lock-type-face) "a kind is colored")
    (test-ok (eq (test-face "circuit") 'font-lock-keyword-face) "a statement word is colored")
    (test-ok (eq (test-face "internal") 'font-lock-builtin-face) "an option is colored")
    (test-ok (eq (test-face "@fork") 'font-lock-constant-face) "a junction is colored")
    (test-ok (eq (test-face "series") 'font-lock-keyword-face) "a connective is colored")
    (test-ok (memq (test-face "model") '(font-lock-comment-face)) "documentation is a comment")
    (indent-region (point-min) (point-max))
    (goto-char (point-min))
    (test-ok (search-forward "\n  lamp L = 3 ohm\n  @in -- L -- @out\nend\n" nil t) "the lines of a part are indented")
    (test-ok (assoc "Elements" (funcall imenu-create-index-function)) "the index lists elements")

    (call-interactively #'eglot)
    (test-ok (eglot-current-server) "the server is connected")
    (let ((found (test-wait "a diagnostic arrives"
                            (lambda () (cl-find-if (lambda (one) (string-match-p "not in series" (cdr one))) (test-errors))))))
      (test-ok (= (car found) 13) "in the line of the claim"))

    (goto-char (point-min))
    (search-forward "resistor R1")
    (backward-char)
    (let ((shown (plist-get (plist-get (test-request :textDocument/hover) :contents) :value)))
      (test-ok (string-match-p "281 mA\\|300 mA" shown) "hover shows the current through R1"))

    ;; A wire that is too long has a fix.
    (goto-char (point-min))
    (search-forward "---")
    (backward-char 2)
    (let* ((actions (eglot-code-actions (point) (1+ (point))))
           (fix (cl-find-if (lambda (one) (string-match-p "Write `--`" (plist-get one :title))) actions)))
      (test-ok fix "the long wire has a fix")
      (eglot--apply-workspace-edit (plist-get fix :edit)))
    (goto-char (point-min))
    (test-ok (search-forward "@join -- B1-" nil t) "the fix changes the text")

    (goto-char (point-max))
    (insert "claim R1, R2 in par")
    (test-wait "`parallel` is offered"
               (lambda ()
                 (eglot--signal-textDocument/didChange)
                 (let ((items (test-request :textDocument/completion)))
                   (cl-some (lambda (item) (string-prefix-p "parallel" (plist-get item :label)))
                            (if (vectorp items) items (plist-get items :items))))))
    (completion-at-point)
    (test-ok (string-match-p "in parallel" (buffer-substring (line-beginning-position) (line-end-position)))
             "a completion is accepted")
    (delete-region (line-beginning-position) (point-max))

    (goto-char (point-min))
    (search-forward "resistor R3")
    (backward-char)
    ;; As an idle timer does.
    (eglot--signal-textDocument/didChange)
    (eglot-rename "Lantern")
    (goto-char (point-min))
    (test-ok (search-forward "@fork -- Lantern -- @join" nil t) "a rename reaches the path")

    (goto-char (point-max))
    (insert "resistor   R9=3ohm\nB1+--R9--B1-\n")
    (eglot-format-buffer)
    (goto-char (point-min))
    (test-ok (re-search-forward "^resistor R9 += 3 ohm$" nil t) "formatting writes the canonical spelling")
    (test-ok (search-forward "B1+ -- R9 -- B1-" nil t) "wires have blanks around them")
    ;; As it was before.
    (goto-char (point-min))
    (re-search-forward "^resistor R9 ")
    (delete-region (line-beginning-position) (point-max))

    ;; Behind characters that take two columns in UTF-16.
    (goto-char (point-min))
    (search-forward "🚢")
    (insert "🔋Ω")
    (search-forward "claim R1, R2 in series")
    (replace-match "claim R1, B1 in series")
    (test-wait "a mended claim clears its diagnostic" (lambda () (null (test-errors))))
    (set-buffer-modified-p nil)
    (eglot-shutdown (eglot-current-server) nil 10)
    (test-ok (null (eglot-current-server)) "the server ends when asked")
    (test-markdown folder)
    (test-rename-elsewhere folder)
    (test-fix-on-save folder)
    (test-settings folder)
    (delete-directory folder t)))

(condition-case problem
    (test-session)
  (error
   (message "%s" (error-message-string problem))
   (when (fboundp 'flymake-diagnostics)
     (dolist (one (ignore-errors (flymake-diagnostics)))
       (message "   shown: %s" (flymake-diagnostic-text one))))
   (kill-emacs 1)))
(kill-emacs 0)
;;; emacs.el ends here
