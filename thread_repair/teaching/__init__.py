"""The comparison for a class: live pictures, exercises that mark themselves, a page without code.

`explorer` turns the positions of the controls into numbers and pictures, `widgets` puts them on a
screen, `static` writes a few of them into one page; `exercises` draws a class's questions and
`marking` judges the answers.
"""
