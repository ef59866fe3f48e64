"""What people do at the bench, in rooms. A public function is one transaction and returns plain records."""
